import type { Batch, Load, MixOption, SearchModel } from "../search/model.js";
import { allergensOfDough, leastBatchG, mixerLimitG } from "../trade/dough.js";
import type { Begun } from "./begun.js";
import { CostBook } from "./cost-tables.js";
import type { DayIndex } from "./day-index.js";
import type { LoadSpec } from "./explode.js";
import { type Keeping, keepingLocks, type MadeMix, type MixMeaning } from "./keeping.js";
import type { Kept } from "./kept.js";
import { type MadeMode, type ModeMeaning, modesOf } from "./modes.js";
import type { Prepared } from "./prepare.js";
import type { BatchSpec } from "./size.js";
import { slowed } from "./told.js";
import { benchClassKey } from "./uses.js";

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
  /** What has begun of the plan in force, when there is one that is repaired. */
  readonly begun?: Begun;
}

export type { MixMeaning } from "./keeping.js";

function mixOptions(prepared: Prepared, batch: BatchSpec, sites: ReadonlySet<string>): MadeMix[] {
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
        minutes: slowed(dough.mixMinutes, index.slowness.get(`${site.id}/${mixer.id}`)),
        crew: heads > 0 ? { rows: Int32Array.from(groups, (group) => crew.get(group.id)!), heads, minutes: 0 } : null,
        from: index.at ?? 0,
        to: index.horizon,
      };
      return [{ option, meaning: { site: site.id, mixer: mixer.id } }];
    });
  });
}

/** Options at the site that the assignment chose come first: the first plan is made there. */
function preferredFirst(batch: BatchSpec, options: MadeMix[]): MadeMix[] {
  return [...options].sort(
    (a, b) => Number(b.meaning.site === batch.mixSite) - Number(a.meaning.site === batch.mixSite),
  );
}

/** Sites at which every one of the loads can be mixed. */
function commonSites(made: readonly (readonly MadeMode[])[]): ReadonlySet<string> {
  const sets = made.map((modes) => new Set(modes.map(({ meaning }) => meaning.mixSite)));
  return new Set([...(sets[0] ?? [])].filter((site) => sets.every((set) => set.has(site))));
}

/** Builds the search's problem from batches of loads. */
export function buildProblem(
  prepared: Prepared,
  kept: Kept,
  batchSpecs: readonly BatchSpec[],
  keeping: Keeping = keepingLocks(prepared, kept),
): Problem {
  const { index, book, trips } = prepared;
  const costs = new CostBook(index);
  const loadSpecs: LoadSpec[] = [];
  const modes: ModeMeaning[][] = [];
  const loads: Load[] = [];
  const batches: Batch[] = [];
  const mixes: MixMeaning[][] = [];
  const placedSpecs: BatchSpec[] = [];
  const unmakeable: LoadSpec[] = [];
  for (const spec of batchSpecs) {
    const made = spec.loads.map((load) => ({
      load,
      made: keeping.modes(spec.id, load, (isWanted) => modesOf(prepared.request, load, isWanted)),
    }));
    const possible = made.filter((entry) => entry.made.length > 0);
    const sites = commonSites(possible.map((entry) => entry.made));
    const options = keeping.options(
      spec,
      preferredFirst(spec, mixOptions(prepared, { ...spec, loads: possible.map(({ load }) => load) }, sites)),
    );
    const used = options.length > 0 ? possible : [];
    for (const { load } of made) if (!used.some((entry) => entry.load === load)) unmakeable.push(load);
    if (used.length === 0) continue;
    const numbers = used.map(({ load, made: own }) => {
      const { late, early, drop } = costs.of(load);
      loadSpecs.push(load);
      modes.push(own.map(({ meaning }) => meaning));
      const modeList = own.map(({ mode }) => mode);
      const home = keeping.loadHome?.(load, own);
      return (
        loads.push({
          batch: batches.length,
          dropCost: drop,
          pinned: keeping.isLoadPinned(spec.id, load.id),
          lateCost: late,
          earlyCost: early,
          modes: modeList,
          ...(home ? { home } : {}),
        }) - 1
      );
    });
    placedSpecs.push({ ...spec, loads: used.map(({ load }) => load) });
    mixes.push(options.map(({ meaning }) => meaning));
    const home = keeping.mixHome?.(spec, options);
    batches.push({
      options: options.map(({ option }) => option),
      loads: Int32Array.from(numbers),
      pinned: keeping.isBatchPinned(spec),
      ...(home ? { home } : {}),
    });
  }
  keeping.settle?.();
  const model: SearchModel = {
    ...book.arrays(),
    ...(keeping.firings ? { firings: keeping.firings } : {}),
    trips,
    batches,
    loads,
  };
  return {
    index,
    prepared,
    model,
    loads: loadSpecs,
    modes,
    batches: placedSpecs,
    mixes,
    unmakeable,
    kept,
    ...(keeping.begun ? { begun: keeping.begun } : {}),
  };
}
