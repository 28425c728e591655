import type { Place } from "../../schemas/index.js";
import type { Problem } from "../problem/index.js";
import { minuteIn } from "../problem/kept.js";
import { createRng } from "../rng.js";
import type { MadeLoad, Take } from "./context.js";

/** Named positions behind a row of the search. */
type PositionNames = readonly { readonly unit: string; readonly position: number }[];

function numbered(unit: string, count: number): PositionNames {
  return Array.from({ length: count }, (_, i) => ({ unit, position: i + 1 }));
}

/** By row: the positions that it counts. Rows that count something else are missing. */
function namesByRow(problem: Problem): Map<number, PositionNames> {
  const names = new Map<number, PositionNames>();
  for (const { site, shelves, proofers, racks, decks } of problem.prepared.request.rows.values()) {
    for (const group of shelves) names.set(group.row, group.positions);
    for (const proofer of site.proofers)
      names.set(proofers.get(proofer.id)!, numbered(`${site.id}/${proofer.id}`, proofer.positions));
    for (const rack of site.racks) names.set(racks.get(rack.id)!, numbered(`${site.id}/${rack.id}`, rack.positions));
    for (const deck of decks) names.set(deck.row, numbered(deck.unit, deck.positions));
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
  let best: { lacking: number; given: number[][] } | null = null;
  for (let attempt = 0; attempt < (hasLocks ? attempts : 1); attempt++) {
    const freeFrom = new Int32Array(reserved.length);
    let lacking = 0;
    const given = stays.map((stay) => {
      const open = [...reserved.keys()].filter(
        (p) => freeFrom[p]! <= stay.from && !reserved[p]!.some((other) => other.from < stay.to && stay.from < other.to),
      );
      const next = (p: number): number =>
        Math.min(1 << 29, ...reserved[p]!.filter((other) => other.from >= stay.to).map((other) => other.from));
      if (hasLocks) {
        const rank = new Map(open.map((p) => [p, attempt === 0 ? next(p) : rng.unit()]));
        open.sort((a, b) => rank.get(a)! - rank.get(b)! || a - b);
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

type Given = Map<string, { unit: string; position: number }[]>;
/** By load, start and end of the stay. */
type Wished = ReadonlyMap<string, ReadonlySet<string>>;
/** By load and start of the stay. */
type Fixed = ReadonlyMap<string, ReadonlySet<string>>;

/** Positions of stays that are as long as in the timetable in force, by load and start: kept if they can be, so that nobody has to be told. */
function positionsInForce(problem: Problem, loads: readonly MadeLoad[]): Wished {
  const wished = new Map<string, ReadonlySet<string>>();
  for (const load of loads) {
    for (const task of problem.kept.tasks.get(load.spec.id) ?? []) {
      if (!task.places || task.places.length === 0) continue;
      const key = `${load.number} ${minuteIn(problem.index, task.start)} ${minuteIn(problem.index, task.end)}`;
      wished.set(key, new Set(task.places.map(({ unit, position }) => `${unit} ${position}`)));
    }
  }
  return wished;
}

interface Stay extends Take {
  readonly load: number;
}

/**
 * Gives every tub and pan one named position for each of its stays. On a row all positions are alike and in service together, so taking stays
 * in order of start and the lowest free position never runs out: an interval graph needs no more colours than its
 * largest clique, and the search has kept that within the row's count.
 */
export class PositionBook {
  private readonly given = new Map<string, { unit: string; position: number }[]>();
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
        const stays = byRow.get(take.row) ?? [];
        stays.push({ ...take, load: load.number });
        byRow.set(take.row, stays);
      }
    }
    const fixed = lockedPositions(problem, loads);
    const wished = problem.begun ? positionsInForce(problem, loads) : NOTHING_WISHED;
    for (const [row, stays] of byRow) this.assign(row, names.get(row)!, stays, fixed, wished);
  }

  private assign(row: number, names: PositionNames, stays: Stay[], fixed: Fixed, wished: Wished): void {
    stays.sort((a, b) => a.from - b.from || a.to - b.to || a.load - b.load);
    // Wishes around a stay that finds too few positions are given up, a few at a time; what is fixed never is.
    const wishes = new Map<string, { stay: Stay; places: ReadonlySet<string> }>();
    const kept = stays.filter((stay) => fixed.has(`${stay.load} ${stay.from}`));
    for (const stay of stays) {
      const key = `${stay.load} ${stay.from}`;
      const places = wished.get(`${key} ${stay.to}`);
      if (!places || fixed.has(key)) continue;
      const isLost = this.shrinkages.some(
        (small) =>
          this.at < stay.to &&
          stay.from < small.to &&
          names.some(
            ({ unit, position }) =>
              unit === small.unit && position > small.positions && places.has(`${unit} ${position}`),
          ),
      );
      const isTaken = kept.some(
        (other) =>
          other.from < stay.to &&
          stay.from < other.to &&
          [...fixed.get(`${other.load} ${other.from}`)!].some((place) => places.has(place)),
      );
      if (!isTaken && !isLost) wishes.set(key, { stay, places });
    }
    let given: Given | Stay = stays[0]!;
    for (let attempt = 0; attempt < WISH_ATTEMPTS && !(given instanceof Map); attempt++) {
      const all = new Map([...wishes].map(([key, { places }]) => [key, places]));
      given = this.around(row, names, stays, new Map([...all, ...fixed]), FEW_ATTEMPTS);
      if (given instanceof Map) break;
      const lacking = given;
      const before = wishes.size;
      for (const [key, { stay }] of wishes) if (stay.from < lacking.to && lacking.from < stay.to) wishes.delete(key);
      if (wishes.size === before) wishes.clear();
    }
    if (!(given instanceof Map)) given = this.around(row, names, stays, fixed, ATTEMPTS, true) as Given;
    for (const [key, places] of given) this.given.set(key, places);
  }

  /** Positions on a row around those that are fixed; when there are too few, the stay that lacks some, unless they are wanted anyway. */
  private around(
    row: number,
    names: PositionNames,
    stays: readonly Stay[],
    fixed: Fixed,
    attempts: number,
    anyway = false,
  ): Given | Stay {
    const given: Given = new Map();
    // Positions that a unit has lost for a while are taken by nobody.
    const reserved: Stay[][] = names.map(({ unit, position }) =>
      this.shrinkages
        .filter((small) => small.unit === unit && position > small.positions)
        .map(({ to }) => ({ row, from: this.at, to, amount: 1, load: -1 })),
    );
    const fixedFor = (stay: Stay): ReadonlySet<string> | undefined => fixed.get(`${stay.load} ${stay.from}`);
    for (const stay of stays) {
      const kept = fixedFor(stay);
      if (!kept) continue;
      const chosen = names.filter(({ unit, position }, p) => {
        if (!kept.has(`${unit} ${position}`)) return false;
        reserved[p]!.push(stay);
        return true;
      });
      if (chosen.length < stay.amount && !anyway) return stay;
      given.set(`${stay.load} ${row} ${stay.from}`, [...chosen]);
    }
    const rest = stays.filter((stay) => !fixedFor(stay));
    const colouring = colour(rest, reserved, attempts);
    for (const [i, stay] of rest.entries()) {
      if (colouring[i]!.length < stay.amount && !anyway) return stay;
      given.set(
        `${stay.load} ${row} ${stay.from}`,
        colouring[i]!.map((p) => names[p]!),
      );
    }
    return given;
  }

  /** Places of a load's items on one of the rows from a minute on; empty for a stay of no length. */
  places(load: MadeLoad, rows: Int32Array | readonly number[], from: number, items: readonly string[]): Place[] {
    for (const row of rows) {
      const chosen = this.given.get(`${load.number} ${row} ${from}`);
      if (chosen) return items.slice(0, chosen.length).map((item, i) => ({ item, ...chosen[i]! }));
    }
    return [];
  }
}
