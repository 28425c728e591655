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

/** The positions of a row, and where each is in the list: written out when a load stands there. */
class RowNames {
  private knownNames: PositionNames | undefined;
  private knownNumbers: Map<string, Map<number, number>> | undefined;

  constructor(private readonly list: () => PositionNames) {}

  get names(): PositionNames {
    this.knownNames ??= this.list();
    return this.knownNames;
  }

  /** Where a position is in the list; -1: it is not on the row. */
  numberOf({ unit, position }: PositionNames[number]): number {
    this.knownNumbers ??= numbersOf(this.names);
    return this.knownNumbers.get(unit)?.get(position) ?? -1;
  }
}

/** By unit and position. */
function numbersOf(names: PositionNames): Map<string, Map<number, number>> {
  const numbers = new Map<string, Map<number, number>>();
  for (let p = 0; p < names.length; p++) {
    const { unit, position } = names[p]!;
    const own = numbers.get(unit);
    if (own) own.set(position, p);
    else numbers.set(unit, new Map([[position, p]]));
  }
  return numbers;
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
const NOTHING_WISHED: Held = new Map();
const NO_WISHES: ReadonlyMap<Stay, readonly Place[]> = new Map();

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
    const given: number[][] = [];
    for (const stay of stays) {
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
      given.push(chosen.sort(ascending));
    }
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

/** Places that stays of a load had, or must have. */
interface Had {
  readonly from: number;
  /** When it was over; infinity where that makes no difference. */
  readonly to: number;
  readonly places: readonly Place[];
}

/** By load. */
type Held = Map<number, Had[]>;

function hold(held: Held, load: number, had: Had): void {
  const own = held.get(load);
  if (own) own.push(had);
  else held.set(load, [had]);
}

/** Of two from one minute on the later written counts. */
function heldFrom(held: Held, load: number, from: number): Had | undefined {
  const own = held.get(load);
  if (!own) return undefined;
  for (let i = own.length - 1; i >= 0; i--) if (own[i]!.from === from) return own[i];
  return undefined;
}

/** Positions of begun and locked tasks. */
function fixedPositions(problem: Problem, loads: readonly MadeLoad[]): Held {
  const fixed: Held = new Map();
  const to = Number.POSITIVE_INFINITY;
  for (const load of loads) {
    for (const { task, start } of problem.begun?.loads.get(load.spec.id)?.tasks ?? [])
      if (task.places) hold(fixed, load.number, { from: start, to, places: task.places });
    for (const { places, start } of problem.kept.locked.get(load.spec.id) ?? [])
      if (places && places.length > 0) hold(fixed, load.number, { from: minuteIn(problem.index, start), to, places });
  }
  return fixed;
}

/** Positions of stays that are as long as in the timetable in force: kept if they can be, so that nobody has to be told. What is fixed is not wished for. */
function positionsInForce(problem: Problem, loads: readonly MadeLoad[], fixed: Held): Held {
  const wished: Held = new Map();
  for (const load of loads) {
    for (const { places, start, end } of problem.kept.tasks.get(load.spec.id) ?? []) {
      if (!places || places.length === 0) continue;
      const from = minuteIn(problem.index, start);
      if (heldFrom(fixed, load.number, from)) continue;
      hold(wished, load.number, { from, to: minuteIn(problem.index, end), places });
    }
  }
  return wished;
}

/** The places of a stay in the timetable in force, if it is as long as there. */
function wishOf(wished: Held, { load, from, to }: Stay): readonly Place[] | undefined {
  const own = wished.get(load);
  if (!own) return undefined;
  for (let i = own.length - 1; i >= 0; i--) if (own[i]!.from === from && own[i]!.to === to) return own[i]!.places;
  return undefined;
}

function shareOne(some: readonly Place[], others: readonly Place[]): boolean {
  for (const { unit, position } of some)
    for (const other of others) if (other.position === position && other.unit === unit) return true;
  return false;
}

interface Stay extends Take {
  readonly load: number;
  /** Places that it must have. */
  readonly fixed: readonly Place[] | undefined;
}

function inOrder(a: Stay, b: Stay): number {
  return a.from - b.from || a.to - b.to || a.load - b.load;
}

interface GivenTo {
  readonly stay: Stay;
  readonly positions: readonly number[];
}

/** What the stays of a load were given. */
interface GivenStay {
  readonly row: number;
  readonly from: number;
  readonly places: readonly { readonly unit: string; readonly position: number }[];
}

const NOT_RESERVED: readonly Stay[] = [];

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
    const fixed = fixedPositions(problem, loads);
    const wished = problem.begun ? positionsInForce(problem, loads, fixed) : NOTHING_WISHED;
    const byRow = new Map<number, Stay[]>();
    for (const load of loads) {
      const { number } = load;
      for (const { row, from, to, amount } of load.takes) {
        if (!names.has(row)) continue;
        const stay = { row, from, to, amount, load: number, fixed: heldFrom(fixed, number, from)?.places };
        const stays = byRow.get(row);
        if (stays) stays.push(stay);
        else byRow.set(row, [stay]);
      }
    }
    for (const [row, stays] of byRow) this.assign(names.get(row)!, stays, wished);
  }

  private assign(names: RowNames, stays: Stay[], wished: Held): void {
    stays.sort(inOrder);
    // Wishes around a stay that finds too few positions are given up, a few at a time; what is fixed never is.
    const wishes = this.wishesOf(names, stays, wished);
    let given: GivenTo[] | Stay = stays[0]!;
    for (let attempt = 0; attempt < WISH_ATTEMPTS && !Array.isArray(given); attempt++) {
      given = this.around(names, stays, wishes, FEW_ATTEMPTS);
      if (Array.isArray(given)) break;
      const lacking = given;
      const before = wishes.size;
      for (const stay of wishes.keys()) if (stay.from < lacking.to && lacking.from < stay.to) wishes.delete(stay);
      if (wishes.size === before) wishes.clear();
    }
    if (!Array.isArray(given)) given = this.around(names, stays, NO_WISHES, ATTEMPTS, true) as GivenTo[];
    for (const { stay, positions } of given) {
      const places: PositionNames[number][] = [];
      for (const p of positions) places.push(names.names[p]!);
      const own = this.given.get(stay.load);
      const one = { row: stay.row, from: stay.from, places };
      if (own) own.push(one);
      else this.given.set(stay.load, [one]);
    }
  }

  /** The places that stays of a row wish for and can have beside what is fixed. */
  private wishesOf(names: RowNames, stays: readonly Stay[], wished: Held): Map<Stay, readonly Place[]> {
    const wishes = new Map<Stay, readonly Place[]>();
    const kept = stays.filter((stay) => stay.fixed !== undefined);
    for (const stay of stays) {
      const places = stay.fixed ? undefined : wishOf(wished, stay);
      if (places && !isFixedElsewhere(kept, stay, places) && !this.isLost(names, stay, places))
        wishes.set(stay, places);
    }
    return wishes;
  }

  /** Is one of the places out of use during the stay, because its unit has become smaller? */
  private isLost(names: RowNames, stay: Stay, places: readonly Place[]): boolean {
    for (const small of this.shrinkages) {
      if (this.at >= stay.to || stay.from >= small.to) continue;
      for (const place of places)
        if (place.unit === small.unit && place.position > small.positions && names.numberOf(place) >= 0) return true;
    }
    return false;
  }

  /** By position: nothing, or for a while what a unit has lost, which is taken by nobody. */
  private reservedOn(names: PositionNames): (readonly Stay[])[] {
    const reserved: (readonly Stay[])[] = new Array(names.length).fill(NOT_RESERVED);
    if (this.shrinkages.length === 0) return reserved;
    for (let p = 0; p < names.length; p++) {
      const { unit, position } = names[p]!;
      const lost: Stay[] = [];
      for (const small of this.shrinkages)
        if (small.unit === unit && position > small.positions)
          lost.push({ row: -1, from: this.at, to: small.to, amount: 1, load: -1, fixed: undefined });
      if (lost.length > 0) reserved[p] = lost;
    }
    return reserved;
  }

  /** Positions on a row around those that are fixed or wished for; when there are too few, the stay that lacks some, unless they are given anyway. */
  private around(
    names: RowNames,
    stays: readonly Stay[],
    wishes: ReadonlyMap<Stay, readonly Place[]>,
    attempts: number,
    anyway = false,
  ): GivenTo[] | Stay {
    const given: GivenTo[] = [];
    const reserved = this.reservedOn(names.names);
    const rest: Stay[] = [];
    for (const stay of stays) {
      const kept = stay.fixed ?? wishes.get(stay);
      if (!kept) {
        rest.push(stay);
        continue;
      }
      const chosen: number[] = [];
      for (const place of kept) {
        const p = names.numberOf(place);
        if (p < 0 || chosen.includes(p)) continue;
        chosen.push(p);
        if (reserved[p] === NOT_RESERVED) reserved[p] = [stay];
        else (reserved[p] as Stay[]).push(stay);
      }
      if (chosen.length < stay.amount && !anyway) return stay;
      given.push({ stay, positions: chosen.sort(ascending) });
    }
    const colouring = rest.length > 0 ? colour(rest, reserved, attempts) : [];
    for (let i = 0; i < rest.length; i++) {
      const stay = rest[i]!;
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
        if (on === row && since === from) return placesOf(items, places);
      }
    }
    return [];
  }
}

/** As many items as there are positions. */
function placesOf(items: readonly string[], positions: PositionNames): Place[] {
  const places: Place[] = [];
  const count = Math.min(items.length, positions.length);
  for (let k = 0; k < count; k++) {
    const { unit, position } = positions[k]!;
    places.push({ item: items[k]!, unit, position });
  }
  return places;
}

function isFixedElsewhere(kept: readonly Stay[], stay: Stay, places: readonly Place[]): boolean {
  for (const other of kept) {
    if (other.from >= stay.to || stay.from >= other.to) continue;
    if (shareOne(other.fixed!, places)) return true;
  }
  return false;
}

function ascending(a: number, b: number): number {
  return a - b;
}
