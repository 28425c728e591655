import type {
  Change,
  Changes,
  DayDocuments,
  OrderChange,
  StationChanges,
  Timetable,
  Whereabouts,
} from "../../schemas/index.js";
import { parseInstant } from "../../solver/calendar.js";
import { UNPLACED } from "../../solver/carried.js";
import { linesAsTold, type Refusal } from "../../solver/index.js";
import { spanText } from "../../solver/local-clock.js";
import { WARM_CAUTION, warmText } from "../../solver/repair/warm-words.js";
import { CAUTIONS, COMES_FIRST } from "../../solver/trade/cautions.js";
import { Names } from "./names.js";
import { table } from "./table.js";
import { WAITS } from "./waits.js";

function count(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`;
}

/** Writes the list of changes for people who have to act on it. */
class ChangeWriter {
  private readonly day: DayDocuments;
  private readonly names: Names;
  readonly lines: string[] = [];

  constructor(day: DayDocuments, before: Timetable, after: Timetable) {
    this.day = day;
    // Loads that are gone are still named.
    const loads = [...after.loads, ...before.loads.filter(({ id }) => !after.loads.some((load) => load.id === id))];
    this.names = new Names(day, { ...after, loads });
  }

  private time(instant: string, site: string): string {
    return this.names.time(instant, site);
  }

  private what(change: Change): string {
    if (change.dough !== undefined) return `${change.does} ${this.names.dough(change.dough)} (${change.batch})`;
    if (change.product === undefined) return change.does;
    return `${change.does} ${change.pieces} ${this.names.product(change.product)} (${change.load})`;
  }

  /** Where a task is, without its station. */
  private at(where: Whereabouts, station: string): string {
    const parts: string[] = [];
    if (where.unit !== undefined && where.unit !== station)
      parts.push(where.unit.startsWith(`${station}/`) ? where.unit.split("/")[2]! : this.names.unit(where.unit));
    return parts.length > 0 ? ` on ${parts.join(", ")}` : "";
  }

  private told(change: Change, station: string, site: string): string {
    const { from, to } = change;
    const span = ({ start, end }: Whereabouts): string => spanText(this.time(start, site), this.time(end, site));
    const isHere = (where: Whereabouts | undefined): boolean =>
      where !== undefined && (where.unit ?? "").startsWith(station);
    const places = to?.places !== undefined && isPlaced(change) ? `, ${shortPlaces(to.places, station)}` : "";
    if (!from) {
      const van = to!.van === undefined ? "" : ` with ${this.names.run(to!.van)}`;
      return `new: ${span(to!)}${this.at(to!, station)}${van}${places}`;
    }
    if (!to) return `gone (was ${span(from)}${this.at(from, station)})`;
    switch (change.what) {
      case "carried":
        return this.carried(change.does, from, to, station, site);
      case "cut-short":
        return `stops at ${this.time(to.end, site)}: thrown away`;
      case "other-length":
        return `until ${this.time(to.end, site)} instead of ${this.time(from.end, site)}`;
      case "other-crew":
        return `${span(to)} by ${this.names.crew(site, to.crew!)} instead of ${this.names.crew(site, from.crew!)}`;
      case "other-place":
        return `${span(to)} in ${shortPlaces(to.places ?? "", station)} instead of ${shortPlaces(from.places ?? "", station)}`;
      case "other-unit":
      case "moved-and-other-unit": {
        const when = change.what === "other-unit" ? span(to) : `${span(from)} -> ${span(to)}`;
        if (from.unit !== undefined && !isHere(to)) return `goes to ${this.names.unit(to.unit ?? "")}: ${when}`;
        const came = to.van
          ? `with ${this.names.run(to.van)} instead of ${this.names.run(from.van ?? "")}`
          : `instead of ${this.where(from)}`;
        return `${when}${this.at(to, station)} ${came}${places}`;
      }
      default:
        return `${span(from)} -> ${span(to)}${this.at(to, station)}${places}`;
    }
  }

  /** One instruction: from where to where, when, and what is left to do there. */
  private carried(does: string, from: Whereabouts, to: Whereabouts, station: string, site: string): string {
    const out = this.time(from.end, site);
    const into = this.time(to.start, site);
    const when = out === into ? `at ${out}` : `out ${out}, in ${into}`;
    if (does !== "bake") {
      const way = `from ${this.positions(from, station)} to ${this.positions(to, station)}`;
      return `carry ${way} ${when}, there until ${this.time(to.end, site)}`;
    }
    const way = `from ${this.spot(from, station)} to ${this.spot(to, station)}`;
    const places = to.places === undefined ? "" : ` (${to.places.replace(/^.*: /, "")})`;
    return `carry half-baked ${way}${places}: ${when}, ${minutesBetween(to)} min left, done ${this.time(to.end, site)}`;
  }

  /** Positions as people look for them: "Walk-in retarder, shelf-1 (1 2)"; without the station where that is what is listed. */
  private positions({ places }: Whereabouts, station: string): string {
    if (places === undefined) return UNPLACED;
    const [site] = station.split("/");
    const spots = places.split(", ").map((place) => {
      const [unit, numbers] = place.split(": ") as [string, string];
      return `${this.spot({ unit: `${site}/${unit}` }, station)} (${numbers})`;
    });
    return spots.join(", ");
  }

  /** A unit; without its station where that is what is listed. */
  private spot({ unit }: Pick<Whereabouts, "unit">, station: string): string {
    if (unit === undefined) return "elsewhere";
    return unit.startsWith(`${station}/`) ? unit.split("/")[2]! : this.names.unit(unit);
  }

  private where(where: Whereabouts): string {
    if (where.unit !== undefined) return this.names.unit(where.unit);
    return where.places ?? "elsewhere";
  }

  station({ station, changes }: StationChanges): void {
    const [site] = station.split("/") as [string];
    this.lines.push(`  ${station.endsWith("/van") ? "Vans" : this.names.unit(station)}`);
    const rows = changes.map((change) => {
      const groups = change.concerns.map((id) => this.names.crew(site, id)).join(", ");
      const when = change.what === "other-length" ? "end" : "start";
      const lifted = change.what === "carried" ? change.from!.end : undefined;
      const first = lifted ?? [change.from, change.to].flatMap((where) => (where ? [where[when]] : [])).sort()[0]!;
      return [`    ${this.time(first, site)}`, this.what(change), this.told(change, station, site), groups];
    });
    this.lines.push(...table(rows));
  }

  stations(changes: Changes): void {
    for (const site of this.day.network.sites) {
      const own = changes.stations.filter(({ station }) => station.startsWith(`${site.id}/`));
      const heat = changes.heat.filter(({ unit }) => unit.startsWith(`${site.id}/`));
      if (own.length === 0 && heat.length === 0) continue;
      this.lines.push("", site.name);
      for (const one of own) this.station(one);
      if (heat.length === 0) continue;
      this.lines.push("  Dials and burners from now on");
      const rows = heat.map(({ unit, after }) => {
        const steps = after.map(
          ({ at, does, tempC }) => `${does}${tempC === undefined ? "" : ` ${tempC} C`} ${this.time(at, site.id)}`,
        );
        return [`    ${this.names.unit(unit)}`, steps.join(", ") || "stays off"];
      });
      this.lines.push(...table(rows));
    }
  }

  /** What would help an order that is left late or short, if that was asked. */
  private remedy({ before, after, remedy }: OrderChange, tried: number | undefined): void {
    if (tried === undefined || !after || after.state === "on-time") return;
    if (remedy) {
      const cost = `${remedy.cost.toFixed(2)} ${this.day.settings.currency ?? ""}`.trim();
      const left = [
        remedy.lateMinutes > 0 ? `${remedy.lateMinutes} min late` : "",
        remedy.shortPieces > 0 ? `${remedy.shortPieces} short` : "",
      ].filter((part) => part !== "");
      const effect = remedy.mends ? "is on time" : `is only ${left.join(", ")}`;
      this.lines.push(`      With ${remedy.text} (${cost}) it ${effect}: the morning was repaired again with it.`);
    } else if (before && before.lateMinutes === after.lateMinutes && before.shortPieces === after.shortPieces) return;
    else
      this.lines.push(
        `      ${tried === 0 ? "No change is known that could help it." : `None of the ${count(tried, "change")} that were tried helps it.`}`,
      );
  }

  orders({ orders, remediesTried }: Changes): void {
    if (orders.length === 0) return;
    const lines = new Map([...this.day.orders.lines, ...linesAsTold(this.day)].map((line) => [line.id, line]));
    this.lines.push("", "Orders: tell these customers");
    const state = (one: OrderChange["after"], site: string): string => {
      if (!one) return "cancelled";
      const parts = [
        one.lateMinutes > 0 ? `${one.lateMinutes} min late (${this.time(one.ready!, site)})` : "",
        one.shortPieces > 0 ? `${one.shortPieces} short` : "",
      ].filter((part) => part !== "");
      return parts.length > 0 ? parts.join(", ") : "on time";
    };
    for (const order of orders) {
      const line = lines.get(order.line);
      const who = line
        ? `${line.pieces} ${this.names.product(line.product)} for ${this.names.site(line.site)}${line.customer ? ` (${line.customer})` : ""}`
        : order.line;
      const site = line?.site ?? this.day.network.sites[0]!.id;
      const was = order.before ? `${state(order.before, site)} -> ` : "new: ";
      this.lines.push(`  ${order.line}: ${who}: ${was}${state(order.after, site)}`);
      if (order.why) this.lines.push(`      ${order.why.text}`);
      this.remedy(order, remediesTried);
      if (order.because.length === 0) continue;
      this.lines.push("      What it waits for, backwards:");
      for (const link of order.because) {
        const own = link.unit?.split("/")[0] ?? site;
        const unit = link.unit === undefined ? "" : ` on ${this.names.unit(link.unit)}`;
        this.lines.push(
          `        ${spanText(this.time(link.start, own), this.time(link.end, own))}  ${link.task}${unit}: waits for ${WAITS[link.waitsFor].listed}`,
        );
      }
    }
  }

  scrapped(changes: Changes): void {
    if (changes.scrapped.length === 0) return;
    this.lines.push("", "Thrown away");
    for (const { load, product, pieces, why } of changes.scrapped)
      this.lines.push(`  ${pieces} ${this.names.product(product)} (${load}): ${why}`);
  }

  warm({ warm = [] }: Changes): void {
    if (warm.length === 0) return;
    this.lines.push(
      "",
      "Not in the cold",
      ...warm.map((one) => `  ${warmText(one, (at, site) => this.time(at, site))}`),
    );
    this.lines.push(`  ${WARM_CAUTION}`);
  }

  givenUp({ givenUp = [] }: Changes): void {
    if (givenUp.length === 0) return;
    this.lines.push("", "No longer held or locked: after what happened it cannot be kept");
    for (const task of givenUp) this.lines.push(`  ${task}`);
  }

  unchanged(changes: Changes): void {
    if (changes.unchanged.length === 0) return;
    const names = changes.unchanged.map((station) =>
      station.endsWith("/van") ? `vans of ${this.names.site(station.split("/")[0]!)}` : this.names.unit(station),
    );
    this.lines.push("", `Nothing changes at: ${names.join(", ")}.`);
  }
}

function minutesBetween({ start, end }: Whereabouts): number {
  return Math.round(((parseInstant(end) ?? 0) - (parseInstant(start) ?? 0)) / 60);
}

function isCarriedHot({ what, does }: Change): boolean {
  return what === "carried" && does === "bake";
}

function isPlaced(change: Change): boolean {
  return change.does === "bake" || change.does === "retard";
}

/** Places without the station's own name. */
function shortPlaces(places: string, station: string): string {
  const own = station.split("/")[1]!;
  return places
    .replaceAll(`${own}/`, "")
    .replaceAll(/^deck-\d+: /g, "positions ")
    .replaceAll(`${own}: `, "positions ");
}

/** What a repair changed: a summary, orders to be told, what is thrown away, and station by station what is different. */
export function changesText(day: DayDocuments, before: Timetable, after: Timetable, changes: Changes): string {
  const writer = new ChangeWriter(day, before, after);
  const first = day.network.sites[0]!.id;
  const names = new Names(day, after);
  const { counts } = changes;
  const head = `As things stand ${names.date(changes.at, first)} ${names.time(changes.at, first)}`;
  if (changes.same) {
    writer.lines.push(`${head}: the timetable in force still holds. Nothing changes.`);
    writer.warm(changes);
    return writer.lines.join("\n");
  }
  const parts = [
    `${count(counts.moved, "task")} of ${count(counts.movedLoads, "load")} move`,
    counts.added > 0 ? `${counts.added} are new` : "",
    counts.gone > 0 ? `${counts.gone} are gone` : "",
    `${counts.kept} stay as they were`,
  ].filter((part) => part !== "");
  writer.lines.push(`${head}: ${parts.join(", ")}. What had begun goes on.`);
  writer.orders(changes);
  writer.scrapped(changes);
  writer.warm(changes);
  writer.givenUp(changes);
  writer.stations(changes);
  if (changes.stations.some((station) => station.changes.some(isCarriedHot)))
    writer.lines.push("", `What is carried half-baked is hot. ${CAUTIONS["hot-decks"]} ${COMES_FIRST}`);
  writer.unchanged(changes);
  return writer.lines.join("\n");
}

/** One line for a second choice. */
export function secondText(
  kind: "fewer-moves" | "less-late",
  changes: Changes,
  cost: number,
  currency: string,
): string {
  const wanting = changes.orders.filter(({ after }) => after && after.state !== "on-time").length;
  const why =
    kind === "fewer-moves" ? "moves fewer tasks and is later or dearer" : "is less late or short and moves more tasks";
  return `Another choice ${why}: ${count(changes.counts.moved, "task")} move, ${count(wanting, "order")} newly late or short, cost ${cost.toFixed(2)} ${currency}. --second takes it.`;
}

/** Wishes that cannot be, with the rule and the nearest times that work. */
export function refusalText(day: DayDocuments, refusals: readonly Refusal[]): string {
  const names = new Names(day, day.inForce!);
  const tasks = new Map(day.inForce!.tasks.map((task) => [task.id, task]));
  return refusals
    .map(({ task, rule, message, nearest }) => {
      const site = tasks.get(task)?.site ?? day.network.sites[0]!.id;
      const times = nearest.map((instant) => names.time(instant, site)).join(" or ");
      return `Refused (${rule}): ${task} cannot start then: ${message}.${times === "" ? " No time near it works." : ` The nearest times that work: ${times}.`}`;
    })
    .join("\n");
}
