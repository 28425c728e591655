import type { SearchModel } from "../search/model.js";

/** Heaters that cannot be told apart, and what they can hold by class (a temperature, a kind of pan). */
export interface HeaterKind {
  readonly count: number;
  readonly leadMinutes: number;
  readonly costPerMinute: number;
  /** Times that one of them may be lit. */
  readonly stretches: number;
  readonly classes: readonly KindClass[];
}

export interface KindClass {
  readonly id: number;
  /** Classes of one lane are never on a heater at once; lanes are the decks of an oven with one thermostat. */
  readonly lane: number;
  /** The most that one heater ever holds of this class. */
  readonly capacity: number;
  /** Minutes in each step in which there is room, all heaters of the kind together. */
  readonly openMinutes: Int32Array;
}

export interface HeaterKinds {
  readonly kinds: readonly HeaterKind[];
  /** Per row: index among all classes of all kinds, -1 for rows of no heater. */
  readonly classOfRow: Int32Array;
}

/** Does work on either row keep the other clear? */
function exclude(model: SearchModel, a: number, b: number): boolean {
  const rivals = model.conflicts[a]!;
  for (let i = 0; i < rivals.length; i += 3) if (rivals[i] === b) return true;
  return false;
}

/** Puts rows into lanes such that the rows of a lane exclude each other. */
function lanesOf(model: SearchModel, rows: readonly number[]): number[] {
  const lanes: number[][] = [];
  return rows.map((row) => {
    const found = lanes.findIndex((lane) => lane.every((other) => exclude(model, row, other)));
    if (found >= 0) lanes[found]!.push(row);
    else lanes.push([row]);
    return found >= 0 ? found : lanes.length - 1;
  });
}

export function heaterKinds(model: SearchModel, stepMinutes: number): HeaterKinds {
  const { horizon } = model;
  const steps = Math.ceil(horizon / stepMinutes);
  const byKey = new Map<string, { heaters: number[]; rows: number[][] }>();
  model.heaters.forEach((heater, h) => {
    const rows: number[] = [];
    for (let row = 0; row < model.rowCount; row++) if (model.heaterOfRow[row] === h) rows.push(row);
    rows.sort((a, b) => model.classOfRow[a]! - model.classOfRow[b]!);
    const lanes = lanesOf(model, rows);
    const shape = rows.map((row, i) => [
      model.classOfRow[row],
      lanes[i],
      model.capacity.subarray(row * horizon, (row + 1) * horizon).join(),
    ]);
    const key = JSON.stringify([heater.leadMinutes, heater.costPerMinute, Array.from(heater.stretches), shape]);
    const kind = byKey.get(key) ?? { heaters: [], rows: [] };
    kind.heaters.push(h);
    kind.rows.push(rows);
    byKey.set(key, kind);
  });
  const classOfRow = new Int32Array(model.rowCount).fill(-1);
  let next = 0;
  const kinds = [...byKey.values()].map(({ heaters, rows }): HeaterKind => {
    const { leadMinutes, costPerMinute, stretches } = model.heaters[heaters[0]!]!;
    const lanes = lanesOf(model, rows[0]!);
    const classes = rows[0]!.map((first, i): KindClass => {
      const id = next++;
      for (const own of rows) classOfRow[own[i]!] = id;
      const line = model.capacity.subarray(first * horizon, (first + 1) * horizon);
      const openMinutes = new Int32Array(steps);
      let capacity = 0;
      for (let t = 0; t < horizon; t++) {
        if (line[t]! > capacity) capacity = line[t]!;
        const step = Math.floor(t / stepMinutes);
        if (line[t]! > 0) openMinutes[step] = openMinutes[step]! + heaters.length;
      }
      return { id, lane: lanes[i]!, capacity, openMinutes };
    });
    return { count: heaters.length, leadMinutes, costPerMinute, stretches: stretches.length / 2, classes };
  });
  return { kinds, classOfRow };
}
