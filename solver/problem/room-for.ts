import type { BakeStep, StandingStep } from "../../schemas/index.js";
import type { Alternative, Hold } from "../search/model.js";
import { leastProofMinutes } from "../trade/proof.js";
import type { SiteRows } from "./site-rows.js";
import { slowed } from "./told.js";

export const NO_ROWS = new Int32Array(0);

/** A stay that takes no room. */
export function emptyHold(least: number, greatest: number): Hold {
  return { least, greatest, rows: NO_ROWS, amount: 0, heatRows: NO_ROWS, heatAmount: 0, heatMinutes: 0, ride: null };
}

const decksKnown = new WeakMap<SiteRows, Map<string, readonly Alternative[]>>();

/** Decks of a site that take so many pans at the temperature; one list for all loads alike, for there are many of both. */
export function decksFor(
  rows: SiteRows,
  step: BakeStep,
  panType: string,
  pans: number,
  slowness: ReadonlyMap<string, number>,
): readonly Alternative[] {
  let known = decksKnown.get(rows);
  if (!known) {
    known = new Map();
    decksKnown.set(rows, known);
  }
  const key = `${step.tempC} ${step.minutes} ${pans} ${panType}`;
  let alternatives = known.get(key);
  if (!alternatives) {
    alternatives = rows.decks
      .filter((deck) => deck.tempC === step.tempC && deck.panType === panType && deck.positions >= pans)
      .map((deck) => ({
        row: deck.row,
        amount: pans,
        minutes: slowed(step.minutes + deck.oven.decks[deck.deckIndex]!.doorRecoveryMinutes, slowness.get(deck.unit)),
      }));
    known.set(key, alternatives);
  }
  return alternatives;
}

const crewsKnown = new WeakMap<SiteRows, Map<string, Int32Array>>();

/** Rows of a site's people with a skill. */
export function crewsWith(rows: SiteRows, skill: string): Int32Array {
  const known = crewsKnown.get(rows) ?? new Map<string, Int32Array>();
  crewsKnown.set(rows, known);
  let crews = known.get(skill);
  if (!crews) {
    const groups = rows.site.crew.filter((group) => group.skills.includes(skill));
    crews = new Int32Array(groups.map((group) => rows.crew.get(group.id)!));
    known.set(skill, crews);
  }
  return crews;
}

const roomsKnown = new WeakMap<SiteRows, Map<StandingStep, Map<number, Hold | null>>>();

/** A proof or cooling of so many pans at a site; null when nothing there takes them. One hold for all loads alike. */
export function roomFor(rows: SiteRows, step: StandingStep, pans: number): Hold | null {
  const ofSite = roomsKnown.get(rows) ?? new Map<StandingStep, Map<number, Hold | null>>();
  roomsKnown.set(rows, ofSite);
  const ofStep = ofSite.get(step) ?? new Map<number, Hold | null>();
  ofSite.set(step, ofStep);
  let hold = ofStep.get(pans);
  if (hold === undefined) {
    hold = step.does === "proof" ? proofFor(rows, step, pans) : rackFor(rows, step, pans);
    ofStep.set(pans, hold);
  }
  return hold;
}

function proofFor(rows: SiteRows, step: StandingStep, pans: number): Hold | null {
  const fitting = rows.site.proofers.filter(
    (proofer) => (step.tempC === undefined || step.tempC === proofer.tempC) && proofer.positions >= pans,
  );
  if (fitting.length === 0) return null;
  const room = rows.site.roomTempC;
  const longest = Math.max(...fitting.map((proofer) => leastProofMinutes(step, room, proofer.tempC)));
  return {
    ...emptyHold(longest, step.greatestMinutes),
    rows: Int32Array.from(fitting, (p) => rows.proofers.get(p.id)!),
    amount: pans,
  };
}

function rackFor(rows: SiteRows, step: StandingStep, pans: number): Hold | null {
  const fitting = rows.site.racks.filter((rack) => rack.positions >= pans);
  if (fitting.length === 0) return null;
  const plain = emptyHold(step.leastMinutes, step.greatestMinutes);
  return { ...plain, rows: Int32Array.from(fitting, (rack) => rows.racks.get(rack.id)!), amount: pans };
}
