import { type Batch, FORBIDDEN, type Load, type MixOption, type Mode, type SearchModel } from "../search/model.js";
import { allergensOfDough, leastBatchG, mixerLimitG } from "../trade/dough.js";
import type { Begun } from "./begun.js";
import { CostBook } from "./cost-tables.js";
import type { DayIndex } from "./day-index.js";
import type { LoadSpec } from "./explode.js";
import { type Keeping, keepingLocks, type MadeMix, type MixMeaning } from "./keeping.js";
import type { Kept } from "./kept.js";
import type { MadeMode, ModeMeaning } from "./modes.js";
import type { Prepared } from "./prepare.js";
import { crewsWith } from "./room-for.js";
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
  let massG = 0;
  for (const { doughG } of batch.loads) massG += doughG;
  const key = benchClassKey(allergensOfDough(index.day.catalogue, dough));
  const heads = dough.mixHeads ?? 1;
  const made: MadeMix[] = [];
  for (const rows of request.rows.values()) {
    const { site, mixers } = rows;
    if (!sites.has(site.id)) continue;
    const crew = crewsWith(rows, dough.mixSkill);
    if (heads > 0 && crew.length === 0) continue;
    for (const mixer of site.mixers) {
      const limit = mixerLimitG(mixer, dough.absorptionPercent);
      if (limit === null || Math.max(massG, leastBatchG(mixer, dough)) > limit) continue;
      const option: MixOption = {
        site: request.siteNumbers.get(site.id)!,
        row: mixers.get(`${mixer.id} ${key}`)!,
        minutes: slowed(dough.mixMinutes, index.slowness.get(`${site.id}/${mixer.id}`)),
        crew: heads > 0 ? { rows: crew, heads, minutes: 0 } : null,
        from: index.at ?? 0,
        to: index.horizon,
      };
      made.push({ option, meaning: { site: site.id, mixer: mixer.id } });
    }
  }
  return made;
}

/** Options at the site that the assignment chose come first: the first plan is made there. */
function preferredFirst(batch: BatchSpec, options: MadeMix[]): MadeMix[] {
  const first: MadeMix[] = [];
  const others: MadeMix[] = [];
  for (const option of options) (option.meaning.site === batch.mixSite ? first : others).push(option);
  for (const option of others) first.push(option);
  return first;
}

/** Sites at which every one of the loads can be mixed. */
function commonSites(made: readonly MadeLoad[]): ReadonlySet<string> {
  const common = new Set<string>();
  for (const { meaning } of made[0]?.made ?? []) common.add(meaning.mixSite);
  for (const site of common) for (const load of made) if (!isMixedAt(load, site)) common.delete(site);
  return common;
}

function isMixedAt({ made }: MadeLoad, site: string): boolean {
  for (const { meaning } of made) if (meaning.mixSite === site) return true;
  return false;
}

/** A load and the ways in which it can be made. */
interface MadeLoad {
  readonly load: LoadSpec;
  readonly made: readonly MadeMode[];
}

/** Gathers loads and batches. (A class with loops: what the compiler makes of functions made for one call is lost with them.) */
class ProblemBuilder {
  readonly loadSpecs: LoadSpec[] = [];
  readonly modes: ModeMeaning[][] = [];
  readonly loads: Load[] = [];
  readonly batches: Batch[] = [];
  readonly mixes: MixMeaning[][] = [];
  readonly placedSpecs: BatchSpec[] = [];
  readonly unmakeable: LoadSpec[] = [];
  private readonly costs: CostBook;

  constructor(
    private readonly prepared: Prepared,
    private readonly keeping: Keeping,
  ) {
    this.costs = new CostBook(prepared.index);
  }

  add(spec: BatchSpec): void {
    const possible: MadeLoad[] = [];
    const loads: LoadSpec[] = [];
    const lost: LoadSpec[] = [];
    for (const load of spec.loads) {
      const made = this.keeping.modes(spec.id, load);
      if (made.length > 0) {
        possible.push({ load, made });
        loads.push(load);
      } else lost.push(load);
    }
    const mixed = { ...spec, loads };
    const found = mixOptions(this.prepared, mixed, commonSites(possible));
    const options = this.keeping.options(spec, preferredFirst(spec, found));
    this.unmakeable.push(...(options.length > 0 ? lost : spec.loads));
    if (possible.length > 0 && options.length > 0) this.addBatch(spec, mixed, possible, options);
  }

  private addBatch(
    spec: BatchSpec,
    mixed: BatchSpec,
    possible: readonly MadeLoad[],
    options: readonly MadeMix[],
  ): void {
    const numbers = new Int32Array(possible.length);
    for (let i = 0; i < possible.length; i++) numbers[i] = this.addLoad(spec.id, possible[i]!);
    this.placedSpecs.push(mixed);
    const meanings: MixMeaning[] = [];
    const mixes: MixOption[] = [];
    for (const { option, meaning } of options) {
      mixes.push(option);
      meanings.push(meaning);
    }
    this.mixes.push(meanings);
    const home = this.keeping.mixHome?.(spec, options);
    this.batches.push({
      options: mixes,
      loads: numbers,
      pinned: this.keeping.isBatchPinned(spec),
      ...(home ? { home } : {}),
    });
  }

  private addLoad(batch: string, { load, made }: MadeLoad): number {
    const { late, early, drop: short } = this.costs.of(load);
    const drop = Math.min(FORBIDDEN - 1, short + (this.keeping.surplusWorth?.(batch, load) ?? 0));
    const meanings: ModeMeaning[] = new Array(made.length);
    const modes: Mode[] = new Array(made.length);
    for (let m = 0; m < made.length; m++) {
      modes[m] = made[m]!.mode;
      meanings[m] = made[m]!.meaning;
    }
    this.loadSpecs.push(load);
    this.modes.push(meanings);
    const home = this.keeping.loadHome?.(load, made);
    const common = this.batches.length;
    const pinned = this.keeping.isLoadPinned(batch, load.id);
    // Field by field: copies by `...` take ten times as long.
    return (
      this.loads.push(
        home
          ? { batch: common, dropCost: drop, pinned, lateCost: late, earlyCost: early, modes, home }
          : { batch: common, dropCost: drop, pinned, lateCost: late, earlyCost: early, modes },
      ) - 1
    );
  }
}

/** Builds the search's problem from batches of loads; told to stop, from those that it has come to. */
export function buildProblem(
  prepared: Prepared,
  kept: Kept,
  batchSpecs: readonly BatchSpec[],
  keeping: Keeping = keepingLocks(prepared, kept),
  shouldStop: () => boolean = () => false,
): Problem {
  const { index, book, trips } = prepared;
  const builder = new ProblemBuilder(prepared, keeping);
  for (const spec of batchSpecs) {
    if (shouldStop()) break;
    builder.add(spec);
  }
  keeping.settle?.();
  const model: SearchModel = {
    ...book.arrays(),
    ...(keeping.firings ? { firings: keeping.firings } : {}),
    trips,
    batches: builder.batches,
    loads: builder.loads,
  };
  return {
    index,
    prepared,
    model,
    loads: builder.loadSpecs,
    modes: builder.modes,
    batches: builder.placedSpecs,
    mixes: builder.mixes,
    unmakeable: builder.unmakeable,
    kept,
    ...(keeping.begun ? { begun: keeping.begun } : {}),
  };
}
