import type { Route, Task } from "../../schemas/index.js";
import type { Begun, BegunLoad, BegunTask, RowUse } from "../problem/begun.js";
import type { DayIndex } from "../problem/day-index.js";
import type { LoadSpec } from "../problem/explode.js";
import type { Keeping, MadeMix } from "../problem/keeping.js";
import { type Kept, minuteIn, pinMode } from "../problem/kept.js";
import { type MadeMode, modesOf, type WantedWays, type Way } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import { MILLS } from "../problem/site-rows.js";
import type { BatchSpec } from "../problem/size.js";
import type { Firing, LoadHome, MixHome, Mode } from "../search/model.js";
import { BegunRows } from "./begun-rows.js";
import { BegunSteps } from "./begun-steps.js";
import { usesOfWork } from "./begun-uses.js";
import { Freezer, type Frozen } from "./freeze.js";
import { crewHomeFirst, HomeFirst } from "./home-first.js";
import { Homes } from "./homes.js";
import { touchedSites } from "./locality.js";
import { placeFailed, tooLongWarm } from "./no-way-on.js";
import type { Standing } from "./standing.js";
import { type Waiting, waitingMode, waitingSteps } from "./waiting.js";
import { type Wish, wishMix, wishMode } from "./wishes.js";

/** Pieces of mixed dough that nobody wants are worth this share of wanted ones: they give way to those, but nothing is thrown away for nothing. */
const SURPLUS_SHARE = 0.05;

/** How a repair keeps to the timetable in force: what has begun is fixed, the rest is free from the instant on and at home where it was. */
export class RepairKeeping implements Keeping {
  readonly begun: Begun;
  private readonly index: DayIndex;
  private readonly at: number;
  private readonly frozenModes = new Map<string, Mode[]>();
  private readonly noWayOn = new Map<string, string>();
  private readonly rows: BegunRows;
  private readonly homes: Homes;
  private readonly freezer: Freezer;
  private readonly ahead: WaysAhead;
  private touched: ReadonlySet<string> | undefined;

  constructor(
    private readonly prepared: Prepared,
    private readonly kept: Kept,
    private readonly standing: Standing,
    private readonly wishes: ReadonlyMap<string, readonly Wish[]>,
    moveFactor: number,
  ) {
    this.index = prepared.index;
    this.at = standing.at;
    this.rows = new BegunRows(prepared, standing.at);
    this.homes = new Homes(prepared, kept, standing, moveFactor);
    this.ahead = new WaysAhead(standing.at);
    this.freezer = new Freezer(prepared, standing.at, this.rows.spareRow);
    this.begun = {
      at: standing.at,
      batches: standing.batches,
      loads: standing.loads,
      modes: this.frozenModes,
      uses: this.rows.uses,
      alight: this.rows.alight,
      cleans: this.rows.cleans,
      noWayOn: this.noWayOn,
    };
  }

  get firings(): readonly Firing[] {
    return this.rows.firings;
  }

  modes(batch: string, load: LoadSpec): MadeMode[] {
    const tasks = this.kept.tasks.get(load.id);
    const ways = this.waysOn(batch, load);
    const home = tasks && new HomeFirst(this.prepared, tasks);
    const found: MadeMode[] = [];
    for (const way of ways) found.push(home ? home.ordered(way) : way);
    const waiting = this.waitingOf(batch, load.id);
    const told = waiting ? found.map((mode) => waitingMode(mode, waiting)) : found;
    const wishes = this.wishes.get(load.id);
    return wishes ? this.wished(load.id, told, wishes) : told;
  }

  /** The ways that have what is wished for; of a load that has begun so are those with the rows of what has begun. */
  private wished(load: string, ways: readonly MadeMode[], wishes: readonly Wish[]): MadeMode[] {
    const full = this.frozenModes.get(load);
    const left: MadeMode[] = [];
    const fullLeft: Mode[] = [];
    for (let m = 0; m < ways.length; m++) {
      const way = wishMode(this.prepared, ways[m]!, wishes);
      if (!way) continue;
      left.push(way);
      if (full) fullLeft.push(wishMode(this.prepared, { ...way, mode: full[m]! }, wishes)?.mode ?? full[m]!);
    }
    if (!full) return left;
    // What has begun goes on; that it cannot as it is wished is found when the timetable is verified, and the wish given up.
    if (left.length === 0) return [...ways];
    this.frozenModes.set(load, fullLeft);
    return left;
  }

  /** What of a load cannot start yet, as told. */
  private waitingOf(batch: string, load: string): Waiting | undefined {
    const { reports, at, loads, batches } = this.standing;
    const tasks = this.kept.tasks.get(load);
    const locked = this.kept.locked.get(load) ?? [];
    const isLockedSooner = (task: Task, minute: number): boolean =>
      minuteIn(this.index, task.start) < minute && locked.some(({ id }) => id === task.id);
    const notBefore = tasks && waitingSteps(tasks, reports, at, isLockedSooner);
    if (!notBefore) return undefined;
    return { notBefore, begun: loads.get(load), mixEnd: batches.get(batch)?.mix.end ?? undefined };
  }

  /** The ways on for a load that has begun and is not thrown away. */
  private frozenWays(load: LoadSpec, begun: BegunLoad, mix: BegunTask): Frozen[] {
    const frozen: Frozen[] = [];
    const steps = new BegunSteps(begun);
    this.freezer.hindrances.clear();
    const planned = this.kept.tasks.get(load.id) ?? [];
    const whereabouts = isToBeCarried(begun) ? STAYS_OR_CARRIED : STAYS;
    for (const mode of modesOf(this.prepared.request, load, new WaysOn(steps, mix.task.site, this.at))) {
      for (const where of whereabouts) {
        const one = this.freezer.freeze(mode, steps, mix.end!, planned, where);
        if (one) frozen.push(one);
      }
    }
    const why =
      frozen.length === 0
        ? this.freezer.hindrances.text(begun)
        : (tooLongWarm(this.prepared, begun, frozen, mix.end!, mix.task.site) ?? placeFailed(begun));
    if (why !== undefined) this.noWayOn.set(load.id, why);
    return frozen;
  }

  /** With what is locked of what is ahead where it was; as they are where that cannot be. */
  private lockedAhead(load: string, frozen: Frozen[], begun: BegunLoad, locked: readonly Task[]): Frozen[] {
    const ahead = locked.filter((task) => !begun.tasks.some((one) => one.task.id === task.id));
    if (ahead.length === 0) return frozen;
    const kept: Frozen[] = [];
    for (const one of frozen) {
      const [made] = this.pinned([one.made], load, ahead);
      const [full] = this.pinned([{ ...one.made, mode: one.full }], load, ahead);
      if (made && full) kept.push({ ...one, made, full: full.mode });
    }
    return kept.length > 0 ? kept : frozen;
  }

  private waysOn(batch: string, load: LoadSpec): MadeMode[] {
    const { request } = this.prepared;
    const begunBatch = this.standing.batches.get(batch);
    const begun = this.standing.loads.get(load.id);
    const locked = this.kept.locked.get(load.id) ?? [];
    const before = this.kept.before.get(load.id);
    if (!begunBatch || !begun) {
      const free = modesOf(request, load, this.ahead);
      return before && locked.length > 0 ? this.pinned(free, load.id, locked) : free;
    }
    const frozen = begun.scrapped ? [] : this.frozenWays(load, begun, begunBatch.mix);
    if (begun.tasks.length > 0)
      this.rows.uses.set(
        load.id,
        frozen[0] ? frozen[0].uses.slice() : usesOfWork(this.prepared, begun.load, begun.tasks),
      );
    if (frozen.length === 0) {
      const nowhere = this.nowhere(modesOf(request, load)[0], begunBatch.mix.task.site);
      this.frozenModes.set(load.id, [nowhere.mode]);
      return [nowhere];
    }
    const used = this.lockedAhead(load.id, frozen, begun, locked);
    this.rows.noteStays(begun.tasks, used[0]!);
    const full: Mode[] = [];
    const ways: MadeMode[] = [];
    for (const one of used) {
      full.push(one.full);
      ways.push(one.made);
    }
    this.frozenModes.set(load.id, full);
    return ways;
  }

  private pinned(modes: readonly MadeMode[], load: string, locked: readonly Task[]): MadeMode[] {
    const before = this.kept.before.get(load)!;
    return modes.flatMap((mode) => pinMode(this.index, this.prepared.book, mode, before, locked) ?? []);
  }

  /** A way that no minute allows: the load is lost, and yet its batch was mixed with it. */
  private nowhere(like: MadeMode | undefined, site: string): MadeMode {
    return {
      mode: {
        site: this.prepared.request.siteNumbers.get(site)!,
        holds: [
          {
            least: 0,
            greatest: 0,
            rows: new Int32Array(0),
            amount: 0,
            heatRows: new Int32Array(0),
            heatAmount: 0,
            heatMinutes: 0,
            ride: null,
          },
        ],
        operations: [
          { alternatives: [{ row: this.rows.spareRow, amount: 0, minutes: 0 }], crew: null, from: 1, to: 0 },
        ],
        anchor: 0,
        spans: [],
        warmFrom: -1,
        warmMinutes: this.index.horizon,
        trip: -1,
        tripAmount: 0,
        finishBy: 0,
        deliveredAt: -1,
      },
      meaning: {
        route: like?.meaning.route ?? [...this.index.products.values()][0]!.routes[0]!,
        mixSite: site,
        bakeSite: like?.meaning.bakeSite ?? site,
        handOver: null,
        trip: null,
        steps: [],
        tubsG: [],
      },
    };
  }

  options(spec: BatchSpec, options: MadeMix[]): MadeMix[] {
    const begun = this.standing.batches.get(spec.id);
    if (begun) return this.begunMix(spec, begun.mix, options);
    const mixId = this.kept.tasks.get(spec.id)?.find((task) => task.does === "mix")?.id;
    const report = this.standing.reports.get(mixId ?? "");
    const task = this.kept.tasks.get(spec.id)?.[0];
    const later = options.map(({ option, meaning }) => ({
      option: {
        ...option,
        crew: crewHomeFirst(this.prepared, option.crew, task),
        from: Math.max(option.from, this.at, report?.notBefore ?? 0),
      },
      meaning,
    }));
    const locked = this.kept.locked.get(spec.id)?.[0];
    if (locked) return later.flatMap((mix) => pinMix(this.prepared, mix, locked));
    const wishes = this.wishes.get(spec.id);
    return wishes ? later.flatMap((mix) => wishMix(mix, wishes)) : later;
  }

  /** A mix that has begun is where it is; mixer and people are taken off for good. */
  private begunMix(spec: BatchSpec, mix: BegunTask, options: MadeMix[]): MadeMix[] {
    const [site, mixer] = mix.task.unit!.split("/") as [string, string];
    const like = options.find(({ meaning }) => meaning.site === site && meaning.mixer === mixer);
    const minutes = mix.end! - mix.start;
    const uses: RowUse[] = [];
    if (like && minutes > 0) {
      uses.push({ row: like.option.row, from: mix.start, to: mix.end!, amount: 1 });
      const { crew } = like.option;
      const row = crew?.rows.find((one) => this.prepared.book.meanings[one]!.of === mix.task.crew?.group);
      if (row !== undefined) uses.push({ row, from: mix.start, to: mix.end!, amount: mix.task.crew!.heads });
    }
    this.rows.uses.set(spec.id, uses);
    const number = this.prepared.request.siteNumbers.get(site)!;
    const option = { site: number, row: this.rows.spareRow, minutes, crew: null, from: mix.start, to: mix.start };
    return [{ option, meaning: { site, mixer } }];
  }

  /** What the planner holds never moves, nor what is outside of where a repair may move things. */
  isLoadPinned(_batch: string, load: string): boolean {
    return this.wishes.has(load) || this.isOutside(load);
  }

  private isOutside(load: string): boolean {
    if (this.index.day.settings.repair?.locality !== "site" || this.wishes.size > 0) return false;
    this.touched ??= touchedSites(this.index.day);
    const tasks = this.kept.tasks.get(load);
    return tasks !== undefined && !tasks.some((task) => this.touched!.has(task.site));
  }

  isBatchPinned(spec: BatchSpec): boolean {
    const { id, loads } = spec;
    const isHeld = this.wishes.has(id) || loads.some((load) => this.isLoadPinned(id, load.id));
    return isHeld || this.standing.batches.has(id) || this.kept.locked.has(id);
  }

  surplusWorth(batch: string, { id, pieces, portions }: LoadSpec): number {
    const begun = this.standing.loads.get(id);
    if (!begun || begun.scrapped || !this.standing.batches.has(batch)) return 0;
    let surplus = pieces - (begun.load.lostPieces ?? 0);
    for (const portion of portions) surplus -= portion.pieces;
    return Math.round(Math.max(0, surplus) * this.index.weights.shortPerPiece * SURPLUS_SHARE * MILLS);
  }

  loadHome(load: LoadSpec, modes: readonly MadeMode[]): LoadHome | undefined {
    return this.homes.ofLoad(load, modes);
  }

  mixHome(spec: BatchSpec, options: readonly MadeMix[]): MixHome | undefined {
    return this.homes.ofMix(spec, options);
  }

  /** Call when all loads and batches are known. */
  settle(): void {
    this.rows.settle();
  }
}

const STAYS = ["stays"] as const;
const STAYS_OR_CARRIED = ["stays", "carried"] as const;

function isToBeCarried({ tasks }: BegunLoad): boolean {
  for (const { carriedAt } of tasks) if (carriedAt !== undefined) return true;
  return false;
}

/** Ways whose van, if they have one, has not left. */
class WaysAhead implements WantedWays {
  constructor(private readonly at: number) {}

  has(_route: Route, { trip }: Way): boolean {
    return trip === null || trip.leave >= this.at;
  }
}

/**
 * In which ways can a load that has begun go on? Only a first look: `freeze` decides. On another route only while no step has begun, and not on one that would have
 * had it in a fridge since it was mixed.
 */
class WaysOn implements WantedWays {
  constructor(
    private readonly steps: BegunSteps,
    private readonly mixSite: string,
    private readonly at: number,
  ) {}

  has(route: Route, way: Way): boolean {
    const { van, begun } = this.steps;
    if (way.mixSite !== this.mixSite) return false;
    if (route.id !== begun.load.route && (begun.tasks.length > 0 || route.steps[0]!.does === "retard")) return false;
    const bake = this.steps.of("bake");
    if (bake && way.bakeSite !== bake.site) return false;
    return van ? way.trip?.id === van.task.van : way.trip === null || way.trip.leave >= this.at;
  }
}

/** A locked mix stays as it was. */
function pinMix(prepared: Prepared, { option, meaning }: MadeMix, locked: Task): MadeMix[] {
  if (`${meaning.site}/${meaning.mixer}` !== locked.unit) return [];
  const start = minuteIn(prepared.index, locked.start);
  const crew = option.crew && {
    ...option.crew,
    rows: option.crew.rows.filter((row) => prepared.book.meanings[row]!.of === locked.crew?.group),
  };
  return [{ option: { ...option, crew, from: start, to: start }, meaning }];
}
