import type { Route, Task } from "../../schemas/index.js";
import type { Alight, Begun, BegunClean, BegunLoad, BegunTask, RowUse } from "../problem/begun.js";
import type { DayIndex } from "../problem/day-index.js";
import type { LoadSpec } from "../problem/explode.js";
import type { Keeping, MadeMix } from "../problem/keeping.js";
import { type Kept, minuteIn, pinMode } from "../problem/kept.js";
import type { MadeMode, Way } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import type { BatchSpec } from "../problem/size.js";
import { BLOCK, type Firing, type LoadHome, type MixHome, type Mode } from "../search/model.js";
import { type Frozen, freeze } from "./freeze.js";
import { begunCleans, settleHeat } from "./heat-state.js";
import { crewHomeFirst, HomeFirst } from "./home-first.js";
import { touchedSites } from "./locality.js";
import { Dearness } from "./move-cost.js";
import { isStandingTask, type Standing } from "./standing.js";
import { type Wish, wishMix, wishMode } from "./wishes.js";

/** Free on rows in what is past: it has happened, whatever the capacity was. */
const PLENTY = 1 << 28;

/** How a repair keeps to the timetable in force: what has begun is fixed, the rest is free from the instant on and at home where it was. */
export class RepairKeeping implements Keeping {
  readonly firings: Firing[] = [];
  readonly begun: Begun;
  private readonly index: DayIndex;
  private readonly at: number;
  private readonly frozenModes = new Map<string, Mode[]>();
  private readonly begunUses = new Map<string, RowUse[]>();
  private readonly alight: Alight[] = [];
  private readonly cleans: readonly BegunClean[];
  private readonly stays: RowUse[] = [];
  private readonly spareRow: number;
  private touched: ReadonlySet<string> | undefined;
  private readonly dearness: Dearness;

  constructor(
    private readonly prepared: Prepared,
    private readonly kept: Kept,
    private readonly standing: Standing,
    private readonly wishes: ReadonlyMap<string, readonly Wish[]>,
    moveFactor: number,
  ) {
    this.index = prepared.index;
    this.at = standing.at;
    this.dearness = new Dearness(this.index, moveFactor);
    this.spareRow = this.makeSpareRow();
    this.cleans = begunCleans(this.index, this.at);
    this.begun = {
      at: standing.at,
      batches: standing.batches,
      loads: standing.loads,
      modes: this.frozenModes,
      uses: this.begunUses,
      alight: this.alight,
      cleans: this.cleans,
    };
  }

  /** A row that is always free, on a heater that costs nothing: for what has begun. */
  private makeSpareRow(): number {
    const { book, index } = this.prepared;
    const row = book.add({ kind: "several", site: index.day.network.sites[0]!.id }, PLENTY);
    const stretches = Int32Array.from([0, index.horizon]);
    const heater = book.addHeater(
      { leadMinutes: 0, stretches, noLead: new Int32Array(0) },
      { costPerMinute: 0, changeCost: 0 },
    );
    book.heat(row, heater, 0);
    return row;
  }

  modes(batch: string, load: LoadSpec, make: MakeModes): MadeMode[] {
    const tasks = this.kept.tasks.get(load.id);
    const ways = this.waysOn(batch, load, make);
    const home = tasks && new HomeFirst(this.prepared, tasks);
    const found = home ? ways.map((way) => home.ordered(way)) : ways;
    const wishes = this.wishes.get(load.id);
    return wishes ? found.flatMap((mode) => wishMode(this.prepared, mode, wishes) ?? []) : found;
  }

  private waysOn(batch: string, load: LoadSpec, make: MakeModes): MadeMode[] {
    const begunBatch = this.standing.batches.get(batch);
    const begun = this.standing.loads.get(load.id);
    const locked = this.kept.locked.get(load.id) ?? [];
    const before = this.kept.before.get(load.id);
    if (!begunBatch || !begun) {
      const free = make((_route, { trip }) => trip === null || trip.leave >= this.at);
      return before && locked.length > 0 ? this.pinned(free, load.id, locked) : free;
    }
    const mixEnd = begunBatch.mix.end!;
    const isOpen = begun.tasks.some(({ carriedAt }) => carriedAt !== undefined);
    const frozen: Frozen[] = [];
    if (!begun.scrapped) {
      for (const mode of make((route, way) => goesOn(begun, begunBatch.mix.task.site, this.at, route, way))) {
        for (const where of isOpen ? (["stays", "carried"] as const) : (["stays"] as const)) {
          const one = freeze(
            this.prepared,
            mode,
            begun,
            mixEnd,
            this.at,
            this.spareRow,
            this.kept.tasks.get(load.id) ?? [],
            where,
          );
          if (one) frozen.push(one);
        }
      }
    }
    const made = frozen.length === 0 ? make() : [];
    if (begun.tasks.length > 0) this.begunUses.set(load.id, this.usesOf(frozen[0], begun.tasks, made));
    if (frozen.length === 0) {
      const nowhere = this.nowhere(made[0], begunBatch.mix.task.site);
      this.frozenModes.set(load.id, [nowhere.mode]);
      return [nowhere];
    }
    const ahead = locked.filter((task) => !begun.tasks.some((one) => one.task.id === task.id));
    const kept = frozen.flatMap((one) => {
      const pinned = ahead.length > 0 ? this.pinned([one.made], load.id, ahead)[0] : one.made;
      return pinned ? [{ ...one, made: pinned }] : [];
    });
    const used = kept.length > 0 ? kept : frozen;
    this.noteStays(begun.tasks, used[0]!);
    this.frozenModes.set(
      load.id,
      used.map((one) => one.full),
    );
    return used.map((one) => one.made);
  }

  private pinned(modes: readonly MadeMode[], load: string, locked: readonly Task[]): MadeMode[] {
    const before = this.kept.before.get(load)!;
    return modes.flatMap((mode) => pinMode(this.index, this.prepared.book, mode, before, locked) ?? []);
  }

  /** Begun tasks of a load on units: of the mode that goes on, or looked up when none does. */
  private usesOf(frozen: Frozen | undefined, tasks: readonly BegunTask[], made: readonly MadeMode[]): RowUse[] {
    if (frozen) return [...frozen.uses];
    const { meanings } = this.prepared.book;
    const uses: RowUse[] = [];
    for (const { task, start, end } of tasks) {
      if (isStandingTask(task) || task.does === "van" || end === null || end <= start) continue;
      for (const { mode, meaning } of made) {
        const trace = meaning.steps.find(({ step, operation }) => operation >= 0 && step.does === task.does);
        if (!trace) continue;
        const { alternatives, crew } = mode.operations[trace.operation]!;
        const alternative = alternatives.find(({ row }) => row >= 0 && meanings[row]!.unit === task.unit);
        if (!alternative) continue;
        uses.push({ row: alternative.row, from: start, to: end, amount: alternative.amount });
        const group = crew?.rows.find((row) => meanings[row]!.of === task.crew?.group);
        const to = task.crew?.minutes === undefined ? end : Math.min(end, start + task.crew.minutes);
        if (group !== undefined) uses.push({ row: group, from: start, to, amount: task.crew!.heads });
        break;
      }
    }
    return uses;
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
        operations: [{ alternatives: [{ row: this.spareRow, amount: 0, minutes: 0 }], crew: null, from: 1, to: 0 }],
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
    this.begunUses.set(spec.id, uses);
    const number = this.prepared.request.siteNumbers.get(site)!;
    const option = { site: number, row: this.spareRow, minutes, crew: null, from: mix.start, to: mix.start };
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

  loadHome(load: LoadSpec, modes: readonly MadeMode[]): LoadHome | undefined {
    const before = this.kept.before.get(load.id);
    const tasks = this.kept.tasks.get(load.id);
    if (!before || !tasks || this.standing.loads.get(load.id)?.scrapped) return undefined;
    const isCarried = tasks.some(({ id }) => id.endsWith("-carried"));
    for (const [m, { mode, meaning }] of modes.entries()) {
      if (isCarried && meaning.isCarried === false) continue;
      if (meaning.route.id !== before.route || meaning.bakeSite !== before.bakedAt) continue;
      if ((meaning.handOver ?? undefined) !== before.handOver || meaning.trip?.id !== load.trip) continue;
      const home = this.chainInForce(mode, meaning, tasks);
      if (home) return { mode: m, ...home };
    }
    return undefined;
  }

  private chainInForce(
    mode: Mode,
    meaning: MadeMode["meaning"],
    tasks: readonly Task[],
  ): Omit<LoadHome, "mode"> | null {
    const { book } = this.prepared;
    const starts = new Int32Array(mode.operations.length).fill(-1);
    const alternatives = new Int8Array(mode.operations.length);
    let firstAhead = Number.POSITIVE_INFINITY;
    for (const trace of meaning.steps) {
      const own = tasks.filter((task) => task.does === trace.step.does);
      const task = own[own.length - 1];
      if (!task) return null;
      if (trace.hold >= 0) {
        const k = trace.hold;
        if (k < starts.length && starts[k]! < 0) starts[k] = minuteIn(this.index, task.end);
        if (k > 0 && starts[k - 1]! < 0) starts[k - 1] = minuteIn(this.index, own[0]!.start);
        continue;
      }
      const k = trace.operation;
      const operation = mode.operations[k]!;
      const start = minuteIn(this.index, task.start);
      starts[k] = operation.from === operation.to ? operation.from : start;
      if (operation.from !== operation.to) firstAhead = Math.min(firstAhead, start);
      const at = operation.alternatives.findIndex(({ row }) => row >= 0 && book.meanings[row]!.unit === task.unit);
      alternatives[k] = Math.max(0, at);
    }
    mode.operations.forEach((operation, k) => {
      if (operation.from === operation.to) starts[k] = operation.from;
    });
    const last = mode.operations.length - 1;
    const finish = starts[last]! + mode.operations[last]!.alternatives[alternatives[last]!]!.minutes;
    const anchor = mode.operations[mode.anchor]!;
    const isOver = anchor.from === anchor.to;
    const near = this.dearness.near(firstAhead);
    return {
      starts,
      alternatives,
      finish,
      row: anchor.alternatives[alternatives[mode.anchor]!]!.row,
      moveCost: isOver ? this.dearness.nothing : this.dearness.table(starts[mode.anchor]!, near),
      otherRowCost: isOver ? 0 : this.dearness.otherUnit(near),
      otherModeCost: isOver ? 0 : this.dearness.otherWay(near),
    };
  }

  mixHome(spec: BatchSpec, options: readonly MadeMix[]): MixHome | undefined {
    const task = this.kept.tasks.get(spec.id)?.find((candidate) => candidate.does === "mix");
    if (!task) return undefined;
    if (this.standing.batches.has(spec.id))
      return { option: 0, start: options[0]!.option.from, moveCost: this.dearness.nothing, otherOptionCost: 0 };
    const option = options.findIndex(({ meaning }) => `${meaning.site}/${meaning.mixer}` === task.unit);
    if (option < 0) return undefined;
    const start = minuteIn(this.index, task.start);
    const near = this.dearness.near(start);
    return {
      option,
      start,
      moveCost: this.dearness.table(start, near),
      otherOptionCost: this.dearness.otherUnit(near),
    };
  }

  /** Takes what has begun off the rows for good, and frees what is past: call when all loads and batches are known. */
  settle(): void {
    const { book } = this.prepared;
    for (const uses of this.begunUses.values()) {
      for (const { row, from, to, amount } of uses) {
        book.use(row, from, to, amount, BLOCK, this.soiledUntil(row, to));
        const heater = book.heaterAt(row);
        const stretches = heater >= 0 ? book.heaters[heater]!.stretches : [];
        const isInService = stretches.some((_, i) => i % 2 === 0 && from >= stretches[i]! && from < stretches[i + 1]!);
        if (isInService) this.firings.push({ heater, start: from, end: to, klass: book.classAt(row) });
      }
    }
    for (const clean of this.cleans) {
      // A cleaning that is being done is finished first.
      if (clean.end <= this.at) continue;
      for (const [row, { unit }] of book.meanings.entries())
        if (unit === clean.unit) book.close(row, this.at, clean.end);
    }
    settleHeat(this.prepared, this.at, this.firings, this.alight);
    this.settleStays();
    book.freePast(this.at, PLENTY);
  }

  /** Rows in which something stands that has begun to, until it was planned to go. */
  private noteStays(tasks: readonly BegunTask[], { made, full }: Frozen): void {
    const open = tasks[tasks.length - 1];
    if (!open || open.end !== null || open.carriedAt !== undefined) return;
    const hold = full.holds[made.meaning.steps.find(({ step }) => step.does === open.task.does)?.hold ?? -1];
    if (!hold) return;
    const rows = open.task.id.endsWith("-2") && hold.ride ? hold.ride.rows : hold.rows;
    if (rows.length !== 1) return;
    const to = minuteIn(this.index, open.task.end);
    this.stays.push({ row: rows[0]!, from: open.start, to, amount: hold.amount });
  }

  /** What stands already has room, even if something came sooner than planned and more stands there than should. */
  private settleStays(): void {
    const { book } = this.prepared;
    for (const row of new Set(this.stays.map((stay) => stay.row))) {
      const own = this.stays.filter((stay) => stay.row === row);
      const { unit } = book.meanings[row]!;
      const outages = [...this.index.outages, ...this.index.shrinkages].filter(
        (outage) => unit !== undefined && (outage.unit.startsWith(unit) || unit.startsWith(outage.unit)),
      );
      for (let t = this.at; t < Math.max(...own.map((stay) => stay.to)); t++) {
        if (outages.some((outage) => outage.from <= t && t < outage.to)) continue;
        const standing = own.reduce((sum, stay) => sum + (stay.to > t ? stay.amount : 0), 0);
        book.atLeast(row, t, standing);
      }
    }
  }

  /** A unit that is soiled and not being cleaned yet can be clean from `at` on at the earliest. */
  private soiledUntil(row: number, to: number): number {
    const { kind, unit } = this.prepared.book.meanings[row]!;
    if (to >= this.at || kind === "deck-positions") return to;
    const clean = this.cleans.find((candidate) => candidate.unit === unit && candidate.start >= to);
    return clean ? to : this.at;
  }
}

type MakeModes = Parameters<Keeping["modes"]>[2];

/** Can a load that has begun go on in a way? Only a first look: `freeze` decides. */
function goesOn({ load, tasks }: BegunLoad, mixSite: string, at: number, route: Route, way: Way): boolean {
  if (way.mixSite !== mixSite || (tasks.length > 0 && route.id !== load.route)) return false;
  const van = tasks.find(({ task }) => task.does === "van");
  return van ? way.trip?.id === van.task.van : way.trip === null || way.trip.leave >= at;
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
