import type { SearchModel } from "../search/model.js";

/** Heaters that cannot be told apart, and what they can hold by class (a row of each: a temperature and a kind of pan on a deck). */
export interface HeaterKind {
  readonly count: number;
  readonly leadMinutes: number;
  readonly costPerMinute: number;
  readonly changeCost: number;
  /** Times that one of them may be lit. */
  readonly stretches: number;
  /** By step: may one be on at some minute of it? */
  readonly isOpen: Uint8Array;
  readonly classes: readonly KindClass[];
  readonly setpoints: number;
  /** [from * setpoints + to]: minutes that a heater stands empty between loads of two setpoints, at the least. */
  readonly changeMinutes: Int32Array;
}

export interface KindClass {
  readonly id: number;
  /** Classes of one lane are never on a heater at once; lanes are the decks of an oven with one thermostat. */
  readonly lane: number;
  /** Classes of different setpoints are never on a heater at once, whatever their lanes. */
  readonly setpoint: number;
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

/** Minutes from the end of work on `first` to the start of work on `next`, -1 when the one does not keep the other clear. */
function gap(model: SearchModel, first: number, next: number): number {
  const minutes = (of: number, other: number, side: 1 | 2): number => {
    const rivals = model.conflicts[of]!;
    for (let i = 0; i < rivals.length; i += 3) if (rivals[i] === other) return rivals[i + side]!;
    return -1;
  };
  const after = minutes(first, next, 2);
  const before = minutes(next, first, 1);
  return after < 0 || before < 0 ? -1 : Math.max(after, before);
}

/** Puts rows into lanes such that the rows of a lane exclude each other. */
function lanesOf(model: SearchModel, rows: readonly number[]): number[] {
  const lanes: number[][] = [];
  return rows.map((row) => {
    const found = lanes.findIndex((lane) => lane.every((other) => gap(model, row, other) >= 0));
    if (found >= 0) lanes[found]!.push(row);
    else lanes.push([row]);
    return found >= 0 ? found : lanes.length - 1;
  });
}

/** Numbers the setpoints of rows. Two whose rows do not all exclude each other count as one. */
function setpointsOf(model: SearchModel, rows: readonly number[]): number[] {
  const sets: number[][] = [];
  for (const klass of new Set(rows.map((row) => model.classOfRow[row]!))) {
    let own = rows.filter((row) => model.classOfRow[row] === klass);
    for (let i = sets.length - 1; i >= 0; i--) {
      if (sets[i]!.every((other) => own.every((row) => gap(model, row, other) >= 0))) continue;
      own = [...own, ...sets[i]!];
      sets.splice(i, 1);
    }
    sets.push(own);
  }
  return rows.map((row) => sets.findIndex((set) => set.includes(row)));
}

function changesOf(model: SearchModel, rows: readonly number[], setpoints: readonly number[]): Int32Array {
  const count = Math.max(...setpoints) + 1;
  const minutes = new Int32Array(count * count).fill(-1);
  rows.forEach((first, i) => {
    rows.forEach((next, j) => {
      if (setpoints[i] === setpoints[j]) return;
      const at = setpoints[i]! * count + setpoints[j]!;
      const own = gap(model, first, next);
      minutes[at] = minutes[at]! < 0 ? own : Math.min(minutes[at]!, own);
    });
  });
  return minutes;
}

function openSteps(stretches: Int32Array, step: number, steps: number): Uint8Array {
  const open = new Uint8Array(steps);
  for (let i = 0; i < stretches.length; i += 2)
    open.fill(1, Math.floor(stretches[i]! / step), Math.ceil(stretches[i + 1]! / step));
  return open;
}

/** Sorts the heaters of a model into kinds. `isUsed`: rows that some load may take; all others are left out. */
export function heaterKinds(model: SearchModel, step: number, isUsed: Uint8Array): HeaterKinds {
  const { horizon } = model;
  const steps = Math.ceil(horizon / step);
  const byKey = new Map<string, { heaters: number[]; rows: number[][] }>();
  model.heaters.forEach((heater, h) => {
    const rows: number[] = [];
    for (let row = 0; row < model.rowCount; row++) if (model.heaterOfRow[row] === h && isUsed[row]) rows.push(row);
    if (rows.length === 0) return;
    rows.sort((a, b) => model.classOfRow[a]! - model.classOfRow[b]!);
    const setpoints = setpointsOf(model, rows);
    const lanes = lanesOf(model, rows);
    const shape = rows.map((row, i) => [
      model.classOfRow[row],
      lanes[i],
      setpoints[i],
      model.capacity.subarray(row * horizon, (row + 1) * horizon).join(),
    ]);
    const changes = changesOf(model, rows, setpoints);
    const { leadMinutes, costPerMinute, changeCost, stretches } = heater;
    const key = JSON.stringify([leadMinutes, costPerMinute, changeCost, stretches.join(), changes.join(), shape]);
    const kind = byKey.get(key) ?? { heaters: [], rows: [] };
    kind.heaters.push(h);
    kind.rows.push(rows);
    byKey.set(key, kind);
  });
  const classOfRow = new Int32Array(model.rowCount).fill(-1);
  let next = 0;
  const kinds = [...byKey.values()].map(({ heaters, rows }): HeaterKind => {
    const { leadMinutes, costPerMinute, changeCost, stretches } = model.heaters[heaters[0]!]!;
    const lanes = lanesOf(model, rows[0]!);
    const setpoints = setpointsOf(model, rows[0]!);
    const classes = rows[0]!.map((first, i): KindClass => {
      const id = next++;
      for (const own of rows) classOfRow[own[i]!] = id;
      const line = model.capacity.subarray(first * horizon, (first + 1) * horizon);
      const openMinutes = new Int32Array(steps);
      let capacity = 0;
      for (let t = 0; t < horizon; t++) {
        if (line[t]! > capacity) capacity = line[t]!;
        const at = Math.floor(t / step);
        if (line[t]! > 0) openMinutes[at] = openMinutes[at]! + heaters.length;
      }
      return { id, lane: lanes[i]!, setpoint: setpoints[i]!, capacity, openMinutes };
    });
    return {
      count: heaters.length,
      leadMinutes,
      costPerMinute,
      changeCost,
      stretches: stretches.length / 2,
      isOpen: openSteps(stretches, step, steps),
      classes,
      setpoints: Math.max(...setpoints) + 1,
      changeMinutes: changesOf(model, rows[0]!, setpoints),
    };
  });
  return { kinds, classOfRow };
}
