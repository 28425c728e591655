import type { Task } from "../../schemas/index.js";
import type { Firing, LoadHome, MixHome, MixOption } from "../search/model.js";
import type { Begun } from "./begun.js";
import type { LoadSpec } from "./explode.js";
import { type Kept, minuteIn, pinMode } from "./kept.js";
import { type MadeMode, modesOf } from "./modes.js";
import type { Prepared } from "./prepare.js";
import type { BatchSpec } from "./size.js";

/** What a mix option of the search means. */
export interface MixMeaning {
  readonly site: string;
  readonly mixer: string;
}

export interface MadeMix {
  readonly option: MixOption;
  readonly meaning: MixMeaning;
}

/** What a problem takes over from the timetable in force: which ways are left to loads and mixes, what never moves, where home is. */
export interface Keeping {
  modes(batch: string, load: LoadSpec): MadeMode[];
  options(spec: BatchSpec, options: MadeMix[]): MadeMix[];
  isLoadPinned(batch: string, load: string): boolean;
  isBatchPinned(spec: BatchSpec): boolean;
  /** What throwing pieces of a load away costs that nobody wants, in mills. */
  surplusWorth?(batch: string, load: LoadSpec): number;
  loadHome?(load: LoadSpec, modes: readonly MadeMode[]): LoadHome | undefined;
  mixHome?(spec: BatchSpec, options: readonly MadeMix[]): MixHome | undefined;
  /** Called when all loads and batches are known, before capacities are read. */
  settle?(): void;
  readonly firings?: readonly Firing[];
  readonly begun?: Begun;
}

/** Locks: what is locked is as it was; the rest of its load and batch too if that is possible. D20. */
export function keepingLocks(prepared: Prepared, kept: Kept): Keeping {
  return {
    modes: (batch, load) => modesUnderLocks(prepared, kept, batch, load, modesOf(prepared.request, load)),
    options: (spec, options) => optionsUnderLocks(prepared, kept, spec, options),
    isLoadPinned: (batch, load) => kept.locked.has(load) || kept.locked.has(batch),
    isBatchPinned: (spec) => kept.locked.has(spec.id) || spec.loads.some((load) => kept.locked.has(load.id)),
  };
}

/** A load with a lock, or of a locked mix, has first the mode in which all of it stays, then those in which only what is locked does. */
function modesUnderLocks(prepared: Prepared, kept: Kept, batch: string, load: LoadSpec, made: MadeMode[]): MadeMode[] {
  const locked = kept.locked.get(load.id) ?? [];
  const before = kept.before.get(load.id);
  if (!before || (locked.length === 0 && !kept.locked.has(batch))) return made;
  const pinned = (tasks: readonly Task[]): MadeMode[] =>
    made.flatMap((mode) => pinMode(prepared.index, prepared.book, mode, before, tasks) ?? []);
  return [...pinned(kept.tasks.get(load.id) ?? locked), ...(locked.length > 0 ? pinned(locked) : made)];
}

/** A kept batch is mixed as it was, if it can be; only a locked mix must. */
function optionsUnderLocks(prepared: Prepared, kept: Kept, spec: BatchSpec, options: MadeMix[]): MadeMix[] {
  const task = kept.tasks.get(spec.id)?.[0];
  if (!task) return options;
  const start = minuteIn(prepared.index, task.start);
  const asItWas = options.flatMap(({ option, meaning }) => {
    if (`${meaning.site}/${meaning.mixer}` !== task.unit) return [];
    const group = task.crew?.group;
    const crew = option.crew && {
      ...option.crew,
      rows: option.crew.rows.filter((row) => prepared.book.meanings[row]!.of === group),
    };
    return [{ option: { ...option, crew, from: start, to: start }, meaning }];
  });
  return kept.locked.has(spec.id) ? asItWas : [...asItWas, ...options];
}
