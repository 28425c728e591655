import type { Place } from "../../schemas/index.js";
import type { Problem } from "../problem/index.js";
import { ascending, colour, type Span } from "./colour.js";
import type { MadeLoad, Take } from "./context.js";
import { namesByRow, type PositionNames, type RowNames } from "./row-names.js";
import { fixedPositions, type Had, hadThen, heldFrom, NEVER_STOOD, stoodIn } from "./stays-in-force.js";

/** Orders in which positions are tried before it is given up: only rows with locked positions ever need a second. */
const ATTEMPTS = 300;
/** While positions of the timetable in force are wished for: there is another way out. */
const FEW_ATTEMPTS = 3;
const WISH_ATTEMPTS = 30;
const NO_POSITIONS: readonly number[] = [];

function shareOne(some: readonly Place[], others: readonly Place[]): boolean {
  for (const { unit, position } of some)
    for (const other of others) if (other.position === position && other.unit === unit) return true;
  return false;
}

/** Of a row a load has so many positions for a while. */
class Stay implements Take {
  readonly row: number;
  readonly from: number;
  readonly to: number;
  readonly amount: number;
  readonly load: number;
  /** Since when the load is there to the search. */
  readonly since: number;
  /** Places that it must have. */
  readonly fixed: readonly Place[] | undefined;
  /** Places that it is to have if it can, until they are given up. */
  wish: readonly Place[] | undefined;
  /** Which positions of the row it is given, in their order. */
  positions: readonly number[] = NO_POSITIONS;

  /** `at`: what has no place yet can have one from this minute on. */
  constructor(take: Take, load: number, at: number, fixed: Had | undefined, wish: Stay["wish"]) {
    const { row, from, to, amount } = take;
    this.row = row;
    this.from = fixed ? from : Math.max(from, at);
    this.to = to;
    this.amount = amount;
    this.load = load;
    this.since = from;
    this.fixed = fixed?.places;
    this.wish = fixed ? undefined : wish;
  }
}

/** So they mostly are when loads are. */
function areInOrder(stays: readonly Stay[]): boolean {
  for (let i = 1; i < stays.length; i++) if (inOrder(stays[i]!, stays[i - 1]!) < 0) return false;
  return true;
}

function inOrder(a: Stay, b: Stay): number {
  return a.from - b.from || a.to - b.to || a.load - b.load;
}

const NOT_RESERVED: readonly Span[] = [];

/**
 * Gives every tub and pan one named position for each of its stays. On a row all positions are alike and in service together, so taking stays
 * in order of start and the lowest free position never runs out: an interval graph needs no more colours than its
 * largest clique, and the search has kept that within the row's count.
 */
export class PositionBook {
  private readonly names: readonly (RowNames | undefined)[];
  /** Stays by load number. */
  private readonly given: (Stay[] | undefined)[];
  private readonly shrinkages: Problem["index"]["shrinkages"];
  /** By unit and position: what stands there until it is carried elsewhere, though no row has it as a stay. */
  private readonly leaving: ReadonlyMap<string, readonly Span[]>;

  constructor(problem: Problem, loads: readonly MadeLoad[]) {
    const { index } = problem;
    const at = problem.begun?.at ?? Number.NEGATIVE_INFINITY;
    this.shrinkages = index.shrinkages;
    this.names = namesByRow(problem);
    this.leaving = leavingOf(problem, loads);
    this.given = new Array(problem.loads.length).fill(undefined);
    const fixed = fixedPositions(problem, loads);
    const stood = problem.begun ? stoodIn(problem) : NEVER_STOOD;
    const byRow: (Stay[] | undefined)[] = new Array(this.names.length).fill(undefined);
    for (const { number, spec, takes } of loads) {
      const own = stood.get(spec.id);
      for (const take of takes) {
        if (!this.names[take.row]) continue;
        const had = heldFrom(fixed, number, take.from);
        // It stood without a place, and does so no longer.
        if (!had && take.to <= at) continue;
        const wish = hadThen(own, index.origin + Math.max(take.from, at), index.origin + take.to);
        const stay = new Stay(take, number, at, had, wish);
        const stays = byRow[take.row];
        if (stays) stays.push(stay);
        else byRow[take.row] = [stay];
      }
    }
    for (let row = 0; row < byRow.length; row++) {
      const stays = byRow[row];
      if (stays) this.assign(this.names[row]!, stays);
    }
  }

  private assign(names: RowNames, stays: Stay[]): void {
    if (!areInOrder(stays)) stays.sort(inOrder);
    // Wishes around a stay that finds too few positions are given up, a few at a time; what is fixed never is.
    this.dropWishes(names, stays);
    let lacking: Stay | null = stays[0]!;
    for (let attempt = 0; attempt < WISH_ATTEMPTS && lacking; attempt++) {
      lacking = this.around(names, stays, FEW_ATTEMPTS);
      if (lacking) giveUpAround(stays, lacking);
    }
    if (lacking) {
      for (const stay of stays) stay.wish = undefined;
      this.around(names, stays, ATTEMPTS, true);
    }
    for (const stay of stays) if (stay.fixed ?? stay.wish) this.note(stay);
    for (const stay of stays) if (!(stay.fixed ?? stay.wish)) this.note(stay);
  }

  private note(stay: Stay): void {
    const own = this.given[stay.load];
    if (own) own.push(stay);
    else this.given[stay.load] = [stay];
  }

  /** Wishes for what cannot be had beside what is fixed are given up. */
  private dropWishes(names: RowNames, stays: readonly Stay[]): void {
    const kept = stays.filter(isFixed);
    for (const stay of stays)
      if (stay.wish && (isFixedElsewhere(kept, stay, stay.wish) || this.isLost(names, stay, stay.wish)))
        stay.wish = undefined;
  }

  /** Is one of the places out of use during the stay, because its unit has become smaller? */
  private isLost(names: RowNames, stay: Stay, places: readonly Place[]): boolean {
    for (const small of this.shrinkages) {
      if (small.shutFrom >= stay.to || stay.from >= small.to) continue;
      for (const place of places)
        if (place.unit === small.unit && place.position > small.positions && names.numberOf(place) >= 0) return true;
    }
    return false;
  }

  /** By position: nothing, or for a while what a unit has lost, which is taken by nobody. */
  private reservedOn(names: PositionNames): (readonly Span[])[] {
    const reserved: (readonly Span[])[] = new Array(names.length).fill(NOT_RESERVED);
    if (this.shrinkages.length === 0 && this.leaving.size === 0) return reserved;
    for (let p = 0; p < names.length; p++) {
      const { unit, position } = names[p]!;
      const lost: Span[] = [...(this.leaving.get(`${unit} ${position}`) ?? NOT_RESERVED)];
      for (const small of this.shrinkages)
        if (small.unit === unit && position > small.positions) lost.push({ from: small.shutFrom, to: small.to });
      if (lost.length > 0) reserved[p] = lost;
    }
    return reserved;
  }

  /** Gives positions on a row around those that are fixed or wished for; when there are too few, the stay that lacks some, unless they are given anyway. */
  private around(names: RowNames, stays: readonly Stay[], attempts: number, anyway = false): Stay | null {
    const rest = stays.filter(isFree);
    // Nobody asks what is reserved where all have what they had.
    const reserved = rest.length > 0 ? this.reservedOn(names.names) : null;
    for (const stay of stays) {
      const kept = stay.fixed ?? stay.wish;
      if (!kept) continue;
      const chosen: number[] = [];
      for (const place of kept) {
        const p = names.numberOf(place);
        if (p < 0 || chosen.includes(p)) continue;
        chosen.push(p);
        if (!reserved) continue;
        if (reserved[p] === NOT_RESERVED) reserved[p] = [stay];
        else (reserved[p] as Span[]).push(stay);
      }
      if (chosen.length < stay.amount && !anyway) return stay;
      stay.positions = ascending(chosen);
    }
    const colouring = reserved ? colour(rest, reserved, attempts) : [];
    for (let i = 0; i < rest.length; i++) {
      const stay = rest[i]!;
      if (colouring[i]!.length < stay.amount && !anyway) return stay;
      stay.positions = colouring[i]!;
    }
    return null;
  }

  /** Places of a load's items on one of the rows from a minute on; none for a stay of no length. */
  places(
    load: MadeLoad,
    rows: Int32Array | readonly number[],
    from: number,
    items: readonly string[],
  ): Place[] | undefined {
    const own = this.given[load.number];
    if (!own) return undefined;
    for (let r = 0; r < rows.length; r++) {
      const row = rows[r]!;
      for (let i = own.length - 1; i >= 0; i--) {
        const stay = own[i]!;
        if (stay.row === row && stay.since === from) return placesOf(items, this.names[row]!.names, stay);
      }
    }
    return undefined;
  }
}

/** What stands at the instant where it has to be carried away from later. What is thrown away instead leaves its place at once. */
function leavingOf({ begun }: Problem, loads: readonly MadeLoad[]): Map<string, Span[]> {
  const leaving = new Map<string, Span[]>();
  if (!begun) return leaving;
  for (const { spec } of loads) {
    const tasks = begun.loads.get(spec.id)?.tasks ?? [];
    for (const { task, start, end, carriedAt } of tasks) {
      if (carriedAt === undefined || end !== null) continue;
      for (const { unit, position } of task.places ?? []) {
        const key = `${unit} ${position}`;
        leaving.set(key, [...(leaving.get(key) ?? []), { from: start, to: carriedAt }]);
      }
    }
  }
  return leaving;
}

/** As many items as there are positions; those of the timetable in force where they are the same. */
function placesOf(items: readonly string[], names: PositionNames, stay: Stay): Place[] | undefined {
  const { positions } = stay;
  const count = Math.min(items.length, positions.length);
  if (count === 0) return undefined;
  const had = stay.fixed ?? stay.wish;
  if (had && areTheSame(had, items, names, positions, count)) return had as Place[];
  const places: Place[] = [];
  for (let k = 0; k < count; k++) {
    const { unit, position } = names[positions[k]!]!;
    places.push({ item: items[k]!, unit, position });
  }
  return places;
}

function areTheSame(
  places: readonly Place[],
  items: readonly string[],
  names: PositionNames,
  positions: readonly number[],
  count: number,
): boolean {
  if (places.length !== count) return false;
  for (let k = 0; k < count; k++) {
    const { item, unit, position } = places[k]!;
    const name = names[positions[k]!]!;
    if (position !== name.position || unit !== name.unit || item !== items[k]) return false;
  }
  return true;
}

function giveUpAround(stays: readonly Stay[], lacking: Stay): void {
  let count = 0;
  for (const stay of stays) {
    if (!stay.wish || stay.from >= lacking.to || lacking.from >= stay.to) continue;
    stay.wish = undefined;
    count++;
  }
  if (count === 0) for (const stay of stays) stay.wish = undefined;
}

function isFixed({ fixed }: Stay): boolean {
  return fixed !== undefined;
}

function isFree({ fixed, wish }: Stay): boolean {
  return (fixed ?? wish) === undefined;
}

function isFixedElsewhere(kept: readonly Stay[], stay: Stay, places: readonly Place[]): boolean {
  for (const other of kept) {
    if (other.from >= stay.to || stay.from >= other.to) continue;
    if (shareOne(other.fixed!, places)) return true;
  }
  return false;
}
