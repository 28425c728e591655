import type { Task } from "../../schemas/index.js";
import type { Batch, Load, MixOption, SearchModel } from "../search/model.js";
import { FORBIDDEN } from "../search/model.js";
import { allergensOfDough, leastBatchG, mixerLimitG } from "../trade/dough.js";
import type { DayIndex } from "./day-index.js";
import type { LoadSpec } from "./explode.js";
import { type Kept, minuteIn, pinMode } from "./kept.js";
import { type MadeMode, type ModeMeaning, modesOf } from "./modes.js";
import type { Prepared } from "./prepare.js";
import { MILLS } from "./site-rows.js";
import type { BatchSpec } from "./size.js";
import { benchClassKey } from "./uses.js";

/** What a mix option of the search means. */
export interface MixMeaning {
  readonly site: string;
  readonly mixer: string;
}

/** A day as the search sees it, with the meaning of everything in it. Nothing in it changes while the search runs. */
export interface Problem {
  readonly index: DayIndex;
  readonly prepared: Prepared;
  readonly model: SearchModel;
  readonly loads: readonly LoadSpec[];
  readonly modes: readonly (readonly ModeMeaning[])[];
  readonly batches: readonly BatchSpec[];
  readonly mixes: readonly (readonly MixMeaning[])[];
  /** Loads that no site can make, whatever the hour. */
  readonly unmakeable: readonly LoadSpec[];
  readonly kept: Kept;
}

/** Whole thousandths, never more than the amount: the bound counts on it. */
function wholeMills(amount: number): number {
  return Math.min(FORBIDDEN, Math.floor(amount + 1e-9));
}

function costTables(index: DayIndex, load: LoadSpec): { late: Int32Array; early: Int32Array; drop: number } {
  const { horizon, weights } = index;
  const late = new Float64Array(horizon + 1);
  const early = new Float64Array(horizon + 1);
  let drop = 0;
  for (const { want, pieces } of load.portions) {
    drop += pieces * want.priority * weights.shortPerPiece * MILLS;
    const lateRate = (pieces * want.priority * weights.latePerPieceHour * MILLS) / 60;
    const earlyRate = (pieces * weights.earlyPerPieceHour * MILLS) / 60;
    for (let t = 0; t <= horizon; t++) {
      if (t > want.due) late[t] = late[t]! + (t - want.due) * lateRate;
      const before = want.due - t;
      if (before > want.freshWithinMinutes) early[t] = FORBIDDEN;
      else if (before > weights.freshForMinutes) early[t] = early[t]! + (before - weights.freshForMinutes) * earlyRate;
    }
  }
  return {
    late: Int32Array.from(late, wholeMills),
    early: Int32Array.from(early, wholeMills),
    drop: Math.min(FORBIDDEN - 1, wholeMills(drop)),
  };
}

function mixOptions(
  prepared: Prepared,
  batch: BatchSpec,
  sites: ReadonlySet<string>,
): { option: MixOption; meaning: MixMeaning }[] {
  const { index, request } = prepared;
  const dough = index.doughs.get(batch.dough)!;
  const massG = batch.loads.reduce((sum, load) => sum + load.doughG, 0);
  const key = benchClassKey(allergensOfDough(index.day.catalogue, dough));
  const heads = dough.mixHeads ?? 1;
  return [...request.rows.values()].flatMap(({ site, crew, mixers }) => {
    if (!sites.has(site.id)) return [];
    const groups = site.crew.filter((group) => group.skills.includes(dough.mixSkill));
    if (heads > 0 && groups.length === 0) return [];
    return site.mixers.flatMap((mixer) => {
      const limit = mixerLimitG(mixer, dough.absorptionPercent);
      if (limit === null || Math.max(massG, leastBatchG(mixer, dough)) > limit) return [];
      const option: MixOption = {
        site: request.siteNumbers.get(site.id)!,
        row: mixers.get(`${mixer.id} ${key}`)!,
        minutes: dough.mixMinutes,
        crew: heads > 0 ? { rows: Int32Array.from(groups, (group) => crew.get(group.id)!), heads, minutes: 0 } : null,
        from: 0,
        to: index.horizon,
      };
      return [{ option, meaning: { site: site.id, mixer: mixer.id } }];
    });
  });
}

/** Options at the site that the assignment chose come first: the first plan is made there. */
function preferredFirst(batch: BatchSpec, options: ReturnType<typeof mixOptions>): ReturnType<typeof mixOptions> {
  return [...options].sort(
    (a, b) => Number(b.meaning.site === batch.mixSite) - Number(a.meaning.site === batch.mixSite),
  );
}

/** Sites at which every one of the loads can be mixed. */
function commonSites(made: readonly (readonly MadeMode[])[]): ReadonlySet<string> {
  const sets = made.map((modes) => new Set(modes.map(({ meaning }) => meaning.mixSite)));
  return new Set([...(sets[0] ?? [])].filter((site) => sets.every((set) => set.has(site))));
}

/** A load with a lock, or of a locked mix, has first the mode in which all of it stays, then those in which only what is locked does. */
function modesUnderLocks(prepared: Prepared, kept: Kept, batch: string, load: LoadSpec): MadeMode[] {
  const made = modesOf(prepared.request, load);
  const locked = kept.locked.get(load.id) ?? [];
  const before = kept.before.get(load.id);
  if (!before || (locked.length === 0 && !kept.locked.has(batch))) return made;
  const pinned = (tasks: readonly Task[]): MadeMode[] =>
    made.flatMap((mode) => pinMode(prepared.index, prepared.book, mode, before, tasks) ?? []);
  return [...pinned(kept.tasks.get(load.id) ?? locked), ...(locked.length > 0 ? pinned(locked) : made)];
}

/** A kept batch is mixed as it was, if it can be; only a locked mix must. */
function optionsUnderLocks(
  prepared: Prepared,
  kept: Kept,
  spec: BatchSpec,
  options: ReturnType<typeof mixOptions>,
): ReturnType<typeof mixOptions> {
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

/** Builds the search's problem from batches of loads. */
export function buildProblem(prepared: Prepared, kept: Kept, batchSpecs: readonly BatchSpec[]): Problem {
  const { index, book, trips } = prepared;
  const loadSpecs: LoadSpec[] = [];
  const modes: ModeMeaning[][] = [];
  const loads: Load[] = [];
  const batches: Batch[] = [];
  const mixes: MixMeaning[][] = [];
  const placedSpecs: BatchSpec[] = [];
  const unmakeable: LoadSpec[] = [];
  for (const spec of batchSpecs) {
    const made = spec.loads.map((load) => ({ load, made: modesUnderLocks(prepared, kept, spec.id, load) }));
    const possible = made.filter((entry) => entry.made.length > 0);
    const sites = commonSites(possible.map((entry) => entry.made));
    const options = optionsUnderLocks(
      prepared,
      kept,
      spec,
      preferredFirst(spec, mixOptions(prepared, { ...spec, loads: possible.map(({ load }) => load) }, sites)),
    );
    const used = options.length > 0 ? possible : [];
    for (const { load } of made) if (!used.some((entry) => entry.load === load)) unmakeable.push(load);
    if (used.length === 0) continue;
    const isPinned = kept.locked.has(spec.id) || spec.loads.some((load) => kept.locked.has(load.id));
    const numbers = used.map(({ load, made: own }) => {
      const { late, early, drop } = costTables(index, load);
      loadSpecs.push(load);
      modes.push(own.map(({ meaning }) => meaning));
      const modeList = own.map(({ mode }) => mode);
      return (
        loads.push({
          batch: batches.length,
          dropCost: drop,
          pinned: kept.locked.has(load.id) || kept.locked.has(spec.id),
          lateCost: late,
          earlyCost: early,
          modes: modeList,
        }) - 1
      );
    });
    placedSpecs.push({ ...spec, loads: used.map(({ load }) => load) });
    mixes.push(options.map(({ meaning }) => meaning));
    batches.push({ options: options.map(({ option }) => option), loads: Int32Array.from(numbers), pinned: isPinned });
  }
  const model: SearchModel = { ...book.arrays(), trips, batches, loads };
  return { index, prepared, model, loads: loadSpecs, modes, batches: placedSpecs, mixes, unmakeable, kept };
}
