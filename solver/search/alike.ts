import type { Draft } from "./draft.js";
import { type Load, MAX_OPERATIONS, type Mode, type SearchModel } from "./model.js";

/** Loads that could stand in for each other on a heater: as much room for as long on the same rows, in one of their modes. */
export class AlikeBook {
  /** Per load and mode: its group. */
  private readonly groupOf: readonly Int32Array[];
  /** Per group: load and mode, load and mode, ... */
  private readonly groups: readonly Int32Array[];

  constructor(model: SearchModel) {
    const members: number[][] = [];
    const groupOf = grouping();
    this.groupOf = model.loads.map(({ modes }, load) =>
      Int32Array.from(modes, (mode, m) => {
        const group = groupOf(mode);
        if (group === members.length) members.push([]);
        members[group]!.push(load, m);
        return group;
      }),
    );
    this.groups = members.map((list) => Int32Array.from(list));
  }

  /**
   * One of the loads with which a placed load had better trade places, by chance; -1 when there is none. Only early and late cost are looked at, as if
   * each chain moved as it is: whether the rest of it fits is for an insertion to find out.
   */
  partner({ state, rng, model }: Draft, load: number): number {
    const own = state.mode[load]!;
    const group = this.groups[this.groupOf[load]![own]!]!;
    const data = model.loads[load]!;
    const mode = data.modes[own]!;
    const start = state.start[anchorAt(load, mode)]!;
    const finish = state.finish[load]!;
    let chosen = -1;
    let seen = 0;
    for (let i = 0; i < group.length; i += 2) {
      const other = group[i]!;
      if (state.mode[other] !== group[i + 1]! || other === load) continue;
      const otherData = model.loads[other]!;
      if (otherData.pinned) continue;
      const otherMode = otherData.modes[group[i + 1]!]!;
      const later = state.start[anchorAt(other, otherMode)]! - start;
      const change =
        costOfShift(data, mode, finish, later, state.horizon) +
        costOfShift(otherData, otherMode, state.finish[other]!, -later, state.horizon);
      if (change >= 0) continue;
      seen++;
      if (rng.below(seen) === 0) chosen = other;
    }
    return chosen;
  }
}

/** Numbers groups from 0 in the order in which they are met. */
function grouping(): (mode: Mode) => number {
  const byKey = new Map<string, number>();
  // Loads alike share their alternatives as objects, which saves most keys.
  const known = new Map<object, number>();
  return ({ operations, anchor }) => {
    const { alternatives } = operations[anchor]!;
    const before = known.get(alternatives);
    if (before !== undefined) return before;
    const key = alternatives.map(({ row, amount, minutes }) => `${row}:${amount}:${minutes}`).join(" ");
    const group = byKey.get(key) ?? byKey.size;
    byKey.set(key, group);
    known.set(alternatives, group);
    return group;
  };
}

/** What a load costs more, early and late, when its chain ends so many minutes later. */
function costOfShift(data: Load, mode: Mode, finish: number, later: number, horizon: number): number {
  const { earlyCost, lateCost } = data;
  const then = Math.min(horizon, Math.max(0, finish + later));
  const early = earlyCost[then]! - earlyCost[finish]!;
  return mode.deliveredAt >= 0 ? early : early + lateCost[then]! - lateCost[finish]!;
}

function anchorAt(load: number, mode: Mode): number {
  return load * MAX_OPERATIONS + mode.anchor;
}
