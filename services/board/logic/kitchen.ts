import type { Happening, Load } from "../../../schemas/index.js";
import { bathMaking, bathName, type Filling } from "../../../solver/baths.js";
import { type Cleaning, cleaningsAt, cleaningWhy } from "../../../solver/cleanings.js";
import { type Carry, carriesOf, spotOf } from "./carries.js";
import { hhmm, MINUTE, msOf } from "./clock.js";
import { heatCards } from "./heat-cards.js";
import { type Outage, outagesOf } from "./outages.js";
import { type Plan, type PlannedTask, unitName, withNames, zoneOf } from "./plan.js";
import { boilStepOf, fillingsAt, meetsLye } from "./station-baths.js";
import { allergensOf, type Card, card, loadText, pans, positionText } from "./station-card.js";
import type { Station } from "./stations.js";

function mixCard(plan: Plan, task: PlannedTask): Card {
  if (!task.batch) return card(plan, task, { verb: "Mix" });
  const tubs = plan.timetable.loads.filter((load) => load.batch === task.batch!.id).flatMap((load) => load.tubs);
  const bySize = new Map<string, number>();
  for (const tub of tubs) {
    const kg = (tub.doughG / 1000).toFixed(1);
    bySize.set(kg, (bySize.get(kg) ?? 0) + 1);
  }
  const sizes = [...bySize].map(([kg, n]) => `${n} × ${kg} kg`).join(", ");
  return card(plan, task, {
    verb: "Mix",
    what: `${(task.batch.massG / 1000).toFixed(1)} kg ${plan.doughNames.get(task.batch.dough) ?? task.batch.dough}`,
    where: task.batch.id,
    details: tubs.length > 0 ? [`into tubs: ${sizes}`] : [],
    allergens: allergensOf(plan, task),
  });
}

/** A cleaning: of what, what it keeps apart, and how long it has. */
function cleanCard(
  plan: Plan,
  station: Station,
  cleanings: readonly Cleaning[],
  fillings: readonly Filling[],
  task: PlannedTask,
): Card {
  const cleaning = cleanings.find((candidate) => candidate.task === task.task);
  const filling = fillings.find((candidate) => candidate.task === task.task);
  const details = cleaning ? [cleaningWhy(cleaning), `${cleaning.minutes} min`] : [];
  if (station.kind !== "kettle")
    return card(plan, task, {
      verb: "Clean",
      what: station.kind === "mixer" ? "the bowl" : unitName(plan, station.id),
      details,
      cautions: [...(station.kind === "mixer" ? (["mixer"] as const) : []), "allergen-order"],
    });
  return card(plan, task, {
    verb: "Clean",
    what: filling?.bath ? `then fill fresh: ${bathName(filling.bath)}` : "nothing boils after",
    where: filling?.bath ? bathMaking(filling.bath) : "",
    details,
    cautions: ["boiling-water", "allergen-order"],
  });
}

function boilCard(plan: Plan, fillings: readonly Filling[], task: PlannedTask): Card {
  const dips = task.task.dips ?? [];
  const first = dips[0]?.pieces ?? 0;
  const last = dips.at(-1)?.pieces ?? 0;
  const every = dips.length > 1 ? Math.round((msOf(dips[1]!.start) - msOf(dips[0]!.start)) / 1000) : 0;
  const count =
    dips.length === 1
      ? `one dip of ${first}`
      : `${dips.length} dips of ${first}${last === first ? "" : `, the last ${last}`}`;
  const step = boilStepOf(task);
  const isUnplanned = fillings.some(({ kind, start }) => kind === "unplanned" && start === task.task.start);
  return card(plan, task, {
    verb: "Boil",
    where: step ? `in ${bathName(step)}` : "",
    details: [
      ...(isUnplanned ? ["EMPTY AND FILL FRESH FIRST: no cleaning is planned"] : []),
      ...(step ? [step.sides === 1 ? `${step.secondsPerSide} s` : `${step.sides} × ${step.secondsPerSide} s`] : []),
      count,
      ...(every > 0 ? [`a dip every ${every} s`] : []),
    ],
  });
}

/** "2 tubs for 52 Plain ring", "4 pans 52 Plain ring"; `some`: of so many of them only. */
function stayText(task: PlannedTask, some?: number): string {
  const { tubs, pans: all } = task.load!;
  const inTubs = task.task.places?.some((place) => tubs.some((tub) => tub.id === place.item)) ?? false;
  if (task.task.does === "retard" && inTubs)
    return `${some ?? tubs.length} ${(some ?? tubs.length) === 1 ? "tub" : "tubs"} for ${loadText(task)}`;
  return `${pans(some ?? all)} ${loadText(task)}`;
}

/** From where to where; without the station's name when it stays there. */
function wayOf(plan: Plan, carry: Carry): string {
  const [from, to] = [spotOf(plan, carry.from), spotOf(plan, carry.to)];
  const name = from.split(", ")[0]!;
  const isSame = to.startsWith(`${name}, `);
  const short = (spot: string): string => (isSame ? spot.replaceAll(`${name}, `, "") : spot);
  return `from ${short(from)} to ${short(to)}`;
}

/**
 * What is carried off a place that fails is one thing to do, at both stations if they are two: nothing is to be started where it was. Half-baked pans are then baked for
 * what is left; what stands is taken out later.
 */
function carryCards(plan: Plan, carry: Carry, out: string): Card[] {
  const { first, rest, isHot, leftMinutes } = carry;
  const into = `in at ${hhmm(zoneOf(plan, rest.site), rest.fromMs)}`;
  const common = { id: `${rest.id} carry`, verb: "Carry", fromMs: first.toMs };
  if (isHot) {
    const deck = rest.task.unit!.split("/")[2]!.replace(/-/g, " ");
    const places = positionText(rest).replace(`${deck}, `, "");
    return [
      card(plan, rest, {
        ...common,
        after: "Bake",
        where: `${wayOf(plan, carry)}, ${places}`,
        details: [
          `half-baked, ${leftMinutes} min more`,
          into,
          `${rest.task.tempC} °C`,
          pans(rest.load!.pans),
          rest.load!.id,
        ],
        cautions: ["hot-decks"],
      }),
    ];
  }
  const [, taken] = inAndOut(plan, rest, "", out) as [Card, Card];
  return [
    card(plan, rest, {
      ...common,
      after: out,
      stands: true,
      what: stayText(rest, carry.to.places?.length),
      where: wayOf(plan, carry),
      details: [into, rest.load!.id],
      toMs: first.toMs,
    }),
    taken,
  ];
}

/** What stands somewhere is two things to do: in, and out. */
function inAndOut(plan: Plan, task: PlannedTask, into: string, out: string): Card[] {
  const what = stayText(task);
  const where = positionText(task);
  return [
    card(plan, task, {
      id: `${task.id} in`,
      verb: into,
      after: out,
      stands: true,
      what,
      where,
      details: [task.load!.id],
      toMs: task.fromMs,
    }),
    card(plan, task, {
      id: `${task.id} out`,
      task: undefined,
      outOf: task.id,
      verb: out,
      what,
      where,
      details: [task.load!.id],
      fromMs: task.toMs,
      toMs: task.toMs,
    }),
  ];
}

function vanCards(plan: Plan, station: Station): Card[] {
  return plan.timetable.vans.flatMap((trip): Card[] => {
    const run = plan.day.network.vanRuns.find((candidate) => candidate.id === trip.run);
    if (!run || (run.from !== station.site && run.to !== station.site)) return [];
    const loads = trip.loads.map(({ load }) => plan.loads.get(load)).filter((load) => load !== undefined);
    const leaves = run.from === station.site;
    const departMs = msOf(trip.departs);
    const arriveMs = msOf(trip.arrives);
    const names = loads.map((load) => `${load.pieces} ${plan.products.get(load.product)?.name ?? load.product}`);
    const other = plan.sites.get(leaves ? run.to : run.from)?.name ?? "";
    return [
      {
        id: `${trip.id} ${station.site}`,
        task: undefined,
        unit: undefined,
        verb: leaves ? "Load" : "Unload",
        what: leaves ? `${run.name} to ${other}` : `${run.name} from ${other}`,
        where: `${trip.loads.reduce((sum, share) => sum + share.positions, 0)} of ${run.positions} positions`,
        details: names,
        fromMs: leaves ? departMs - run.loadMinutes * MINUTE : arriveMs,
        toMs: leaves ? departMs : arriveMs + run.unloadMinutes * MINUTE,
        allergens: [],
      },
    ];
  });
}

/** Everything to do at a station, in order of time. */
export function cardsOf(plan: Plan, station: Station): Card[] {
  const at = (task: PlannedTask): boolean =>
    task.task.unit === station.id ||
    (task.task.unit?.startsWith(`${station.id}/`) ?? false) ||
    (task.task.places?.some((place) => place.unit === station.id || place.unit.startsWith(`${station.id}/`)) ?? false);
  const own = plan.tasks.filter(at);
  const fillings = fillingsAt(plan, station);
  const cleanings = cleaningsAt(plan.day, plan.timetable, station.id);
  const cards: Card[] = [];
  const carries = carriesOf(plan);
  const carried = new Set<Carry>();
  for (const task of own) {
    const carry = carries.get(task.id);
    const scrapped = task.load?.scrapped;
    if (scrapped && task.toMs >= msOf(scrapped.at)) cards.push(throwCard(plan, task, scrapped));
    else if (carry) {
      if (!carried.has(carry)) cards.push(...carryCards(plan, carry, station.kind === "rack" ? "Ready" : "Take out"));
      carried.add(carry);
    } else if (task.task.does === "clean") cards.push(cleanCard(plan, station, cleanings, fillings, task));
    else if (station.kind === "mixer") cards.push(mixCard(plan, task));
    else if (station.kind === "kettle") cards.push(boilCard(plan, fillings, task));
    else if (station.kind === "fridge" && task.load) cards.push(...inAndOut(plan, task, "Into the fridge", "Take out"));
    else if (station.kind === "proofer" && task.load)
      cards.push(...inAndOut(plan, task, "Into the proofer", "Take out"));
    else if (station.kind === "rack" && task.load) cards.push(...inAndOut(plan, task, "Onto the rack", "Ready"));
    else if (station.kind === "oven" && task.load) {
      const deck = task.task.unit!.split("/")[2]!.replace(/-/g, " ");
      const where = positionText(task).replace(`${deck}, `, "");
      cards.push(
        card(plan, task, {
          verb: "Bake",
          where: `${deck}, ${where}`,
          details: [`${task.task.tempC} °C`, pans(task.load.pans), task.load.id],
        }),
      );
    } else if (station.kind === "bench") {
      const verb = { shape: "Shape", top: "Top", pack: "Pack" }[task.task.does as "shape"] ?? "";
      const heads = task.task.crew?.heads;
      cards.push(
        card(plan, task, {
          verb,
          details: task.load
            ? [pans(task.load.pans), ...(heads && heads > 1 ? [`${heads} people`] : []), task.load.id]
            : [],
        }),
      );
    }
  }
  cards.push(...heatCards(plan, station, fillings));
  if (station.kind === "van") cards.push(...vanCards(plan, station));
  const wet = new Set(own.filter((task) => meetsLye(task, fillings)).map(({ id }) => id));
  return cards
    .map((one) => (wet.has(one.task ?? "") ? { ...one, cautions: [...(one.cautions ?? []), "lye" as const] } : one))
    .sort((a, b) => a.fromMs - b.fromMs || a.id.localeCompare(b.id));
}

/** How long a station is told to throw something away, from when it was decided. */
const TOLD = 20 * MINUTE;

/** Where a load is when it is given up: what was planned for it there does not happen any more. */
function throwCard(plan: Plan, task: PlannedTask, scrapped: NonNullable<Load["scrapped"]>): Card {
  const atMs = msOf(scrapped.at);
  return card(plan, task, {
    id: `${task.id} thrown`,
    task: undefined,
    discards: task.id,
    verb: "Throw away",
    where: positionText(task),
    details: [withNames(plan, scrapped.why), task.load!.id],
    fromMs: atMs,
    toMs: atMs + TOLD,
  });
}

/** What of a station is out of order or will be, each stretch once: the station, a part of it, or all that it is part of. */
export function outOfOrderAt(plan: Plan, station: Station, more: readonly Happening[], nowMs: number): Outage[] {
  const parts = [...plan.day.happenings.happenings, ...more].flatMap((happening) =>
    happening.kind === "out-of-service" && happening.unit.startsWith(`${station.id}/`) ? [happening.unit] : [],
  );
  const seen = new Set<string>();
  return [station.id, ...parts]
    .flatMap((unit) => outagesOf(plan, unit, more))
    .filter(({ unit, fromMs, toMs }) => {
      const key = `${unit} ${fromMs} ${toMs}`;
      const isNew = !seen.has(key) && toMs > nowMs;
      seen.add(key);
      return isNew;
    })
    .sort((a, b) => a.fromMs - b.fromMs);
}
