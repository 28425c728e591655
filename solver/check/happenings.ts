import type { DayDocuments, Site } from "../../schemas/index.js";
import { isTimeZone, resolveWhen } from "../calendar.js";
import { OF_TIMETABLE } from "../problem/told.js";
import { type Check, type Findings, list } from "./context.js";
import { resolve } from "./times.js";

function unitsOf(site: Site) {
  const { mixers, fridges, benches, proofers, kettles, ovens, racks } = site;
  return [...mixers, ...fridges, ...benches, ...proofers, ...kettles, ...ovens, ...racks];
}

/** The site of a unit; what is wrong with the reference is reported. */
function checkUnit(day: DayDocuments, findings: Findings, unit: string, pointer: string): Site | undefined {
  const [siteId, unitId, partId] = unit.split("/");
  const site = day.network.sites.find((candidate) => candidate.id === siteId);
  if (!site) {
    findings.add(
      "unknown-unit",
      "happenings",
      pointer,
      `${siteId} is not a site.`,
      `Sites are ${list(day.network.sites.map((candidate) => candidate.id))}.`,
    );
    return undefined;
  }
  const units = unitsOf(site);
  const found = units.find((candidate) => candidate.id === unitId);
  const parts = found && "decks" in found ? found.decks : found && "shelves" in found ? found.shelves : [];
  if (!found)
    findings.add(
      "unknown-unit",
      "happenings",
      pointer,
      `${site.id} has no unit ${unitId}.`,
      `Its units are ${list(units.map((candidate) => candidate.id))}.`,
    );
  else if (partId !== undefined && !parts.some((part) => part.id === partId))
    findings.add(
      "unknown-unit",
      "happenings",
      pointer,
      `${siteId}/${unitId} has no part ${partId}.`,
      `Its parts are ${list(parts.map((part) => part.id))}.`,
    );
  return site;
}

/** Everything that a happening can name in the timetable in force. */
class InForce {
  readonly sites: ReadonlyMap<string, Site>;
  private readonly day: DayDocuments;
  private readonly findings: Findings;

  constructor(day: DayDocuments, findings: Findings) {
    this.day = day;
    this.findings = findings;
    this.sites = new Map(day.network.sites.map((site) => [site.id, site]));
  }

  /** False, and reported, when there is no timetable that the happening could be about. */
  isThere(pointer: string, what: string): boolean {
    if (this.day.inForce) return true;
    this.findings.add(
      "no-timetable-in-force",
      "happenings",
      pointer,
      `${what}, but the folder holds no timetable in force.`,
      "Add timetable-in-force.json or remove the happening.",
    );
    return false;
  }

  /** What a repair took away was told of while it was there. */
  private isGone(id: string): boolean {
    return this.day.inForce!.gone?.includes(id) === true;
  }

  task(id: string, pointer: string): Site | undefined {
    const task = this.day.inForce!.tasks.find((candidate) => candidate.id === id);
    if (task) return this.sites.get(task.site);
    if (this.isGone(id)) return undefined;
    this.findings.add(
      "unknown-task",
      "happenings",
      pointer,
      `${id} is not a task of the timetable in force.`,
      "Correct the id or remove the happening.",
    );
    return undefined;
  }

  batchOrLoad(kind: "batch" | "load", id: string, pointer: string): void {
    const { batches, loads } = this.day.inForce!;
    const all: readonly { readonly id: string }[] = kind === "batch" ? batches : loads;
    if (all.some((one) => one.id === id) || this.isGone(id)) return;
    this.findings.add(
      kind === "batch" ? "unknown-batch" : "unknown-load",
      "happenings",
      pointer,
      `${id} is not a ${kind} of the timetable in force.`,
      `Use one of ${list(all.map((one) => one.id))}.`,
    );
  }
}

function checkLines(day: DayDocuments, findings: Findings, inForce: InForce): void {
  /** By id, the site that a line is for. */
  const known = new Map(day.orders.lines.map((line) => [line.id, line.site]));
  day.happenings.happenings.forEach((happening, i) => {
    const at = `/happenings/${i}/line`;
    if (happening.kind === "order-added") {
      const { id, product, site, madeAt, due } = happening.line;
      if (known.has(id))
        findings.add("duplicate-id", "happenings", `${at}/id`, `There is a line ${id} already.`, "Give it another id.");
      known.set(id, site);
      if (!day.catalogue.products.some((candidate) => candidate.id === product))
        findings.add(
          "unknown-product",
          "happenings",
          `${at}/product`,
          `${product} is not in the catalogue.`,
          "Add it to the catalogue or correct the id.",
        );
      for (const [name, id] of [
        ["site", site],
        ["madeAt", madeAt],
      ] as const) {
        if (id !== undefined && !inForce.sites.has(id))
          findings.add(
            "unknown-site",
            "happenings",
            `${at}/${name}`,
            `${id} is not a site.`,
            `Use one of ${list(inForce.sites.keys())}.`,
          );
      }
      resolve(findings, "happenings", `${at}/due`, due, inForce.sites.get(site));
    }
    if (happening.kind !== "order-changed" && happening.kind !== "order-cancelled") return;
    if (!known.has(happening.line))
      findings.add(
        "unknown-line",
        "happenings",
        at,
        `There is no order line ${happening.line}.`,
        "Correct the id or remove the happening.",
      );
    const site = known.get(happening.line);
    if (site !== undefined && happening.kind === "order-changed" && happening.due !== undefined)
      resolve(findings, "happenings", `/happenings/${i}/due`, happening.due, inForce.sites.get(site));
  });
}

function checkTrip(day: DayDocuments, findings: Findings, trip: string, pointer: string): void {
  if (day.network.vanRuns.some((run) => /^\d{8}$/.test(trip.slice(run.id.length + 1)) && trip.startsWith(`${run.id}-`)))
    return;
  findings.add(
    "unknown-trip",
    "happenings",
    pointer,
    `${trip} is not a trip of a van run.`,
    `A trip is a run's id, a hyphen and the date as YYYYMMDD; runs are ${list(day.network.vanRuns.map((run) => run.id))}.`,
  );
}

/** What the day was told of: whatever it names is there, its times resolve and follow each other. */
export const checkHappenings: Check = (day, findings) => {
  const inForce = new InForce(day, findings);
  const { at, happenings } = day.happenings;
  const now = at === undefined ? null : resolve(findings, "happenings", "/at", at, day.network.sites[0]);
  const zone = day.network.sites[0]?.timeZone;
  const minuteOf = (when: string): number | null => {
    const resolved = zone !== undefined && isTimeZone(zone) ? resolveWhen(when, zone) : undefined;
    return resolved && "minute" in resolved ? resolved.minute : null;
  };
  const begins = minuteOf(day.settings.window.from);
  const ends = minuteOf(day.settings.window.to);
  if (at !== undefined) inForce.isThere("/at", "Things stand as told at an instant");
  const span = (i: number, site: Site | undefined, from: string, to: string | undefined): void => {
    const start = resolve(findings, "happenings", `/happenings/${i}/from`, from, site);
    const end = to === undefined ? null : resolve(findings, "happenings", `/happenings/${i}/to`, to, site);
    if (start !== null && end !== null && end <= start)
      findings.add(
        "ends-before-start",
        "happenings",
        `/happenings/${i}/to`,
        `It ends (${to}) before it starts (${from}).`,
        "Correct one of them.",
      );
  };
  happenings.forEach((happening, i) => {
    const here = `/happenings/${i}`;
    if (OF_TIMETABLE.has(happening.kind) && at === undefined)
      findings.add(
        "instant-missing",
        "happenings",
        "/at",
        `A happening of kind ${happening.kind} is told, but not when things stand so.`,
        "Give the instant in at.",
      );
    const past = (name: string, when: string | undefined, site: Site | undefined): void => {
      if (when === undefined) return;
      const minute = resolve(findings, "happenings", `${here}/${name}`, when, site);
      if (minute !== null && now !== null && minute > now)
        findings.add(
          "told-too-soon",
          "happenings",
          `${here}/${name}`,
          `${when} is after ${at}, the instant of the report.`,
          "Correct one of them.",
        );
      if (minute !== null && begins !== null && minute < begins)
        findings.add(
          "told-outside-day",
          "happenings",
          `${here}/${name}`,
          `${when} is before the window, which begins at ${day.settings.window.from}.`,
          "Correct the time; of work that was begun sooner say that it began with the window.",
        );
    };
    switch (happening.kind) {
      case "out-of-service":
      case "smaller":
        span(i, checkUnit(day, findings, happening.unit, `${here}/unit`), happening.from, happening.to);
        return;
      case "slower": {
        const site = checkUnit(day, findings, happening.unit, `${here}/unit`);
        const [, unitId, part] = happening.unit.split("/");
        const works = [...(site?.mixers ?? []), ...(site?.benches ?? []), ...(site?.kettles ?? [])];
        const isDeck = part !== undefined && site?.ovens.some((oven) => oven.id === unitId);
        if (
          site &&
          !isDeck &&
          !works.some((unit) => unit.id === unitId) &&
          unitsOf(site).some((unit) => unit.id === unitId)
        )
          findings.add(
            "not-slower",
            "happenings",
            `${here}/unit`,
            `${happening.unit} does no work that could take longer.`,
            "Give a mixer, a bench, a kettle, or a deck of an oven.",
          );
        return;
      }
      case "absent": {
        const site = inForce.sites.get(happening.site);
        if (!site)
          findings.add(
            "unknown-site",
            "happenings",
            `${here}/site`,
            `${happening.site} is not a site.`,
            `Use one of ${list(inForce.sites.keys())}.`,
          );
        else if (!site.crew.some((group) => group.id === happening.crew))
          findings.add(
            "unknown-crew",
            "happenings",
            `${here}/crew`,
            `${site.id} has no crew group ${happening.crew}.`,
            `Its groups are ${list(site.crew.map((group) => group.id))}.`,
          );
        span(i, site, happening.from, happening.to);
        return;
      }
      case "order-added":
      case "order-changed":
      case "order-cancelled":
        return;
      case "van-late":
        checkTrip(day, findings, happening.trip, `${here}/trip`);
        return;
      case "spoiled":
      case "short-batch":
      case "pieces-lost": {
        if (!inForce.isThere(here, `${happening.kind} is told of a batch or load`)) return;
        if ("batch" in happening && happening.batch !== undefined)
          inForce.batchOrLoad("batch", happening.batch, `${here}/batch`);
        if ("load" in happening && happening.load !== undefined)
          inForce.batchOrLoad("load", happening.load, `${here}/load`);
        return;
      }
      case "lock":
        if (inForce.isThere(`${here}/task`, `${happening.task} is locked`))
          inForce.task(happening.task, `${here}/task`);
        return;
    }
    if (!inForce.isThere(`${here}/task`, `${happening.task} is told of`)) return;
    const site = inForce.task(happening.task, `${here}/task`);
    if (happening.kind === "started") past("at", happening.at, site);
    if (happening.kind === "finished") {
      past("at", happening.at, site);
      past("startedAt", happening.startedAt, site);
    }
    if (happening.kind === "running") {
      const until = resolve(findings, "happenings", `${here}/until`, happening.until, site);
      if (until !== null && ends !== null && until > ends)
        findings.add(
          "told-outside-day",
          "happenings",
          `${here}/until`,
          `${happening.until} is after the window, which ends at ${day.settings.window.to}.`,
          "Correct the time, or widen the window in the settings.",
        );
    }
    if (happening.kind === "not-started" && happening.notBefore !== undefined)
      resolve(findings, "happenings", `${here}/notBefore`, happening.notBefore, site);
    if (happening.kind === "hold") {
      resolve(findings, "happenings", `${here}/start`, happening.start, site);
      if (happening.unit !== undefined) checkUnit(day, findings, happening.unit, `${here}/unit`);
    }
  });
  checkLines(day, findings, inForce);
};
