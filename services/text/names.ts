import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { instantMinute, localParts, parseInstant } from "../../solver/calendar.js";
import { LocalClock } from "../../solver/local-clock.js";

/** Names and local times for print. */
export class Names {
  private readonly day: DayDocuments;
  private readonly loads: ReadonlyMap<string, Timetable["loads"][number]>;
  private readonly window: Timetable["window"];
  private readonly clocks = new Map<string, LocalClock>();

  constructor(day: DayDocuments, timetable: Timetable) {
    this.day = day;
    this.window = timetable.window;
    this.loads = new Map(timetable.loads.map((load) => [load.id, load]));
  }

  site(id: string): string {
    return this.day.network.sites.find((site) => site.id === id)?.name ?? id;
  }

  product(id: string): string {
    return this.day.catalogue.products.find((product) => product.id === id)?.name ?? id;
  }

  dough(id: string): string {
    return this.day.catalogue.doughs.find((dough) => dough.id === id)?.name ?? id;
  }

  load(id: string | undefined): Timetable["loads"][number] | undefined {
    return this.loads.get(id ?? "");
  }

  crew(siteId: string, id: string): string {
    const site = this.day.network.sites.find((candidate) => candidate.id === siteId);
    return site?.crew.find((group) => group.id === id)?.name ?? id;
  }

  zone(siteId: string): string {
    return this.day.network.sites.find((site) => site.id === siteId)?.timeZone ?? "UTC";
  }

  /** "Deck oven east, deck-1": the name of a unit by its reference, with its part. */
  unit(ref: string): string {
    const [siteId, id, part] = ref.split("/");
    const site = this.day.network.sites.find((candidate) => candidate.id === siteId);
    if (!site) return ref;
    const { mixers, fridges, benches, proofers, kettles, ovens, racks } = site;
    const units = [...mixers, ...fridges, ...benches, ...proofers, ...kettles, ...ovens, ...racks];
    const name = units.find((unit) => unit.id === id)?.name ?? id ?? ref;
    return part === undefined ? name : `${name}, ${part}`;
  }

  /** Name of the run of a trip. */
  run(trip: string): string {
    return this.day.network.vanRuns.find(({ id }) => trip.startsWith(`${id}-`))?.name ?? trip;
  }

  /** HH:MM of the site's clock, with its offset on a day on which the clocks change. */
  time(instant: string, siteId: string): string {
    const seconds = parseInstant(instant);
    if (seconds === null) return instant;
    const zone = this.zone(siteId);
    let clock = this.clocks.get(zone);
    if (!clock) {
      const { from, to } = this.window;
      clock = new LocalClock(zone, { fromMinute: instantMinute(from), toMinute: instantMinute(to) });
      this.clocks.set(zone, clock);
    }
    return clock.time(Math.floor(seconds / 60));
  }

  date(instant: string, siteId: string): string {
    const seconds = parseInstant(instant);
    if (seconds === null) return instant;
    const { date, weekday } = localParts(Math.floor(seconds / 60), this.zone(siteId));
    return `${weekday} ${date}`;
  }
}
