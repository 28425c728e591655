import type { Place } from "../../schemas/index.js";
import type { Problem } from "../problem/index.js";
import { minuteIn } from "../problem/kept.js";
import type { Prepared } from "../problem/prepare.js";
import { createRng } from "../rng.js";
import type { MadeLoad, Take } from "./context.js";

/** Named positions behind a row of the search. */
type PositionNames = readonly { readonly unit: string; readonly position: number }[];

function numbered(unit: string, count: number): PositionNames {
  return Array.from({ length: count }, (_, i) => ({ unit, position: i + 1 }));
}

/** The positions of a row, and where each is in the list by its full name: written out when a load stands there. */
class RowNames {
  private knownNames: PositionNames | undefined;
  private knownNumbers: Map<string, number> | undefined;

  constructor(private readonly list: () => PositionNames) {}

  get names(): PositionNames {
    this.knownNames ??= this.list();
    return this.knownNames;
  }

  get numbers(): ReadonlyMap<string, number> {
    if (!this.knownNumbers) {
      this.knownNumbers = new Map();
      for (const [p, { unit, position }] of this.names.entries()) this.knownNumbers.set(`${unit} ${position}`, p);
    }
    return this.knownNumbers;
  }
}

const namesKnown = new WeakMap<Prepared, Map<number, RowNames>>();

/** By row: the positions that it counts. Rows that count something else are missing. */
function namesByRow({ prepared }: Problem): Map<number, RowNames> {
  const known = namesKnown.get(prepared);
  if (known) return known;
  const names = new Map<number, RowNames>();
  namesKnown.set(prepared, names);
  for (const { site, shelves, proofers, racks, decks } of prepared.request.rows.values()) {
    const add = (row: number, list: () => PositionNames): void => {
      names.set(row, new RowNames(list));
    };
    for (const group of shelves) add(group.row, () => group.positions);
    for (const { id, positions } of site.proofers)
      add(proofers.get(id)!, () => numbered(`${site.id}/${id}`, positions));
    for (const { id, positions } of site.racks) add(racks.get(id)!, () => numbered(`${site.id}/${id}`, positions));
    for (const { row, unit, positions } of decks) add(row, () => numbered(unit, positions));
  }
  return names;
}

/** Orders in which positions are tried before it is given up: only rows with locked positions ever need a second. */
const ATTEMPTS = 300;
/** While positions of the timetable in force are wished for: there is another way out. */
const FEW_ATTEMPTS = 3;
const WISH_ATTEMPTS = 30;
const NOTHING_WISHED: Wished = new Map();

/**
 * Positions for each stay, in order of start, around those reserved by locks. The position whose next reservation comes soonest (and
 * late enough) is taken first, so that long stays find open ones; after that orders drawn at random. What finds no
 * position keeps too few, and the verifier says so.
 */
function colour(stays: readonly Stay[], reserved: readonly (readonly Stay[])[], attempts: number): number[][] {
  const rng = createRng(1);
  const hasLocks = reserved.some((list) => list.length > 0);
  const rank = new Float64Array(reserved.length);
  let best: { lacking: number; given: number[][] } | null = null;
  for (let attempt = 0; attempt < (hasLocks ? attempts : 1); attempt++) {
    const freeFrom = new Int32Array(reserved.length);
    let lacking = 0;
    const given = stays.map((stay) => {
      const open: number[] = [];
      for (let p = 0; p < reserved.length; p++)
        if (freeFrom[p]! <= stay.from && !isTaken(reserved[p]!, stay)) open.push(p);
      if (hasLocks) {
        for (const p of open) rank[p] = attempt === 0 ? nextFrom(reserved[p]!, stay.to) : rng.unit();
        open.sort((a, b) => rank[a]! - rank[b]! || a - b);
      }
      const chosen = open.slice(0, stay.amount);
      for (const p of chosen) freeFrom[p] = stay.to;
      lacking += stay.amount - chosen.length;
      return chosen.sort((a, b) => a - b);
    });
    if (!best || lacking < best.lacking) best = { lacking, given };
    if (lacking === 0) break;
  }
  return best!.given;
}

function isTaken(reservations: readonly Stay[], stay: Stay): boolean {
  for (const other of reservations) if (other.from < stay.to && stay.from < other.to) return true;
  return false;
}

/** When the next reservation from a minute on begins. */
function nextFrom(reservations: readonly Stay[], minute: number): number {
  let next = 1 << 29;
  for (const { from } of reservations) if (from >= minute && from < next) next = from;
  return next;
}

/** Positions of locked tasks, by load and start of the stay. */
function lockedPositions(problem: Problem, loads: readonly MadeLoad[]): Map<string, Set<string>> {
  const fixed = new Map<string, Set<string>>();
  for (const load of loads) {
    for (const begun of problem.begun?.loads.get(load.spec.id)?.tasks ?? []) {
      const { places } = begun.task;
      if (!places) continue;
      fixed.set(`${load.number} ${begun.start}`, new Set(places.map(({ unit, position }) => `${unit} ${position}`)));
    }
    for (const task of problem.kept.locked.get(load.spec.id) ?? []) {
      if (!task.places || task.places.length === 0) continue;
      const key = `${load.number} ${minuteIn(problem.index, task.start)}`;
      fixed.set(key, new Set(task.places.map(({ unit, position }) => `${unit} ${position}`)));
    }
  }
  return fixed;
}

type Given = { readonly stay: Stay; readonly positions: readonly number[] }[];
/** By load, start and end of the stay. */
type Wished = ReadonlyMap<string, ReadonlySet<string>>;
/** By load and start of the stay. */
type Fixed = ReadonlyMap<string, ReadonlySet<string>>;

/** Positions of stays that are as long as in the timetable in force, by load and start: kept if they can be, so that nobody has to be told. */
function positionsInForce(problem: Problem, loads: readonly MadeLoad[], fixed: Fixed): Wished {
  const wished = new Map<string, ReadonlySet<string>>();
  for (const load of loads) {
    for (const task of problem.kept.tasks.get(load.spec.id) ?? []) {
      if (!task.places || task.places.length === 0) continue;
      const key = `${load.number} ${minuteIn(problem.index, task.start)}`;
      // What is fixed is not wished for.
      if (fixed.has(key)) continue;
      wished.set(
        `${key} ${minuteIn(problem.index, task.end)}`,
        new Set(task.places.map(({ unit, position }) => `${unit} ${position}`)),
      );
    }
  }
  return wished;
}

interface Stay extends Take {
  readonly load: number;
  /** Load and start. */
  readonly key: string;
}

interface Wish {
  readonly stay: Stay;
  readonly places: ReadonlySet<string>;
}

/** What the stays of a load were given. */
interface GivenStay {
  readonly row: number;
  readonly from: number;
  readonly places: readonly { readonly unit: string; readonly position: number }[];
}

/**
 * Gives every tub and pan one named position for each of its stays. On a row all positions are alike and in service together, so taking stays
 * in order of start and the lowest free position never runs out: an interval graph needs no more colours than its
 * largest clique, and the search has kept that within the row's count.
 */
export class PositionBook {
  private readonly given = new Map<number, GivenStay[]>();
  private readonly shrinkages: Problem["index"]["shrinkages"];
  private readonly at: number;

  constructor(problem: Problem, loads: readonly MadeLoad[]) {
    this.shrinkages = problem.index.shrinkages;
    this.at = problem.index.at ?? 0;
    const names = namesByRow(problem);
    const byRow = new Map<number, Stay[]>();
    for (const load of loads) {
      for (const take of load.takes) {
        if (!names.has(take.row)) continue;
        const stay = { ...take, load: load.number, key: `${load.number} ${take.from}` };
        const stays = byRow.get(take.row);
        if (stays) stays.push(stay);
        else byRow.set(take.row, [stay]);
      }
    }
    const fixed = lockedPositions(problem, loads);
    const wished = problem.begun ? positionsInForce(problem, loads, fixed) : NOTHING_WISHED;
    for (const [row, stays] of byRow) this.assign(names.get(row)!, stays, fixed, wished);
  }

  private assign(names: RowNames, stays: Stay[], fixed: Fixed, wished: Wished): void {
    stays.sort((a, b) => a.from - b.from || a.to - b.to || a.load - b.load);
    // Wishes around a stay that finds too few positions are given up, a few at a time; what is fixed never is.
    const wishes = new Map<string, Wish>();
    const kept = stays.filter((stay) => fixed.has(stay.key));
    for (const stay of stays) {
      const places = fixed.has(stay.key) ? undefined : wished.get(`${stay.key} ${stay.to}`);
      if (places && !this.isFixedElsewhere(kept, fixed, stay, places) && !this.isLost(names, stay, places))
        wishes.set(stay.key, { stay, places });
    }
    const wanted = (stay: Stay): ReadonlySet<string> | undefined => fixed.get(stay.key) ?? wishes.get(stay.key)?.places;
    let given: Given | Stay = stays[0]!;
    for (let attempt = 0; attempt < WISH_ATTEMPTS && !Array.isArray(given); attempt++) {
      given = this.around(names, stays, wanted, FEW_ATTEMPTS);
      if (Array.isArray(given)) break;
      const lacking = given;
      const before = wishes.size;
      for (const [key, { stay }] of wishes) if (stay.from < lacking.to && lacking.from < stay.to) wishes.delete(key);
      if (wishes.size === before) wishes.clear();
    }
    if (!Array.isArray(given))
      given = this.around(names, stays, (stay) => fixed.get(stay.key), ATTEMPTS, true) as Given;
    for (const { stay, positions } of given) {
      const own = this.given.get(stay.load) ?? [];
      this.given.set(stay.load, own);
      own.push({ row: stay.row, from: stay.from, places: positions.map((p) => names.names[p]!) });
    }
  }

  private isFixedElsewhere(kept: readonly Stay[], fixed: Fixed, stay: Stay, places: ReadonlySet<string>): boolean {
    for (const other of kept) {
      if (other.from >= stay.to || stay.from >= other.to) continue;
      for (const place of fixed.get(other.key)!) if (places.has(place)) return true;
    }
    return false;
  }

  /** Is one of the places out of use during the stay, because its unit has become smaller? */
  private isLost({ names }: RowNames, stay: Stay, places: ReadonlySet<string>): boolean {
    return this.shrinkages.some(
      (small) =>
        this.at < stay.to &&
        stay.from < small.to &&
        names.some(
          ({ unit, position }) =>
            unit === small.unit && position > small.positions && places.has(`${unit} ${position}`),
        ),
    );
  }

  /** Positions on a row around those that are wanted; when there are too few, the stay that lacks some, unless they are given anyway. */
  private around(
    { names, numbers }: RowNames,
    stays: readonly Stay[],
    wanted: (stay: Stay) => ReadonlySet<string> | undefined,
    attempts: number,
    anyway = false,
  ): Given | Stay {
    const given: Given = [];
    // Positions that a unit has lost for a while are taken by nobody.
    const reserved: Stay[][] = names.map(({ unit, position }) =>
      this.shrinkages
        .filter((small) => small.unit === unit && position > small.positions)
        .map(({ to }) => ({ row: -1, from: this.at, to, amount: 1, load: -1, key: "" })),
    );
    const rest: Stay[] = [];
    for (const stay of stays) {
      const kept = wanted(stay);
      if (!kept) {
        rest.push(stay);
        continue;
      }
      const chosen: number[] = [];
      for (const place of kept) {
        const p = numbers.get(place);
        if (p === undefined) continue;
        chosen.push(p);
        reserved[p]!.push(stay);
      }
      if (chosen.length < stay.amount && !anyway) return stay;
      given.push({ stay, positions: chosen.sort((a, b) => a - b) });
    }
    const colouring = colour(rest, reserved, attempts);
    for (const [i, stay] of rest.entries()) {
      if (colouring[i]!.length < stay.amount && !anyway) return stay;
      given.push({ stay, positions: colouring[i]! });
    }
    return given;
  }

  /** Places of a load's items on one of the rows from a minute on; empty for a stay of no length. */
  places(load: MadeLoad, rows: Int32Array | readonly number[], from: number, items: readonly string[]): Place[] {
    const own = this.given.get(load.number);
    if (!own) return [];
    for (const row of rows) {
      for (let i = own.length - 1; i >= 0; i--) {
        const { row: on, from: since, places } = own[i]!;
        if (on === row && since === from)
          return items.slice(0, places.length).map((item, k) => ({ item, ...places[k]! }));
      }
    }
    return [];
  }
}
