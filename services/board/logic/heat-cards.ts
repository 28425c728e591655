import { bathName, bathRecipe, type Filling, hasLyeBetween } from "../../../solver/baths.js";
import { MINUTE, msOf } from "./clock.js";
import type { Plan } from "./plan.js";
import type { Card } from "./station-card.js";
import type { Station } from "./stations.js";

/** When ovens and kettles are lit, set and switched off. */
export function heatCards(plan: Plan, station: Station, fillings: readonly Filling[]): Card[] {
  const cards: Card[] = [];
  const heat = (
    id: string,
    unit: string,
    atMs: number,
    hotMs: number,
    verb: string,
    what: string,
    detail: string,
    where = "",
  ): void => {
    cards.push({
      id,
      task: undefined,
      unit,
      verb,
      what,
      where,
      details: [detail],
      fromMs: atMs,
      toMs: hotMs,
      allergens: [],
    });
  };
  for (const program of plan.timetable.ovenProgram) {
    if (!program.deck.startsWith(`${station.id}/`)) continue;
    const name = program.deck.split("/")[2]!.replace(/-/g, " ");
    const minutes = (from: number, to: number): string => `${Math.round((to - from) / MINUTE)} min until hot`;
    for (const set of program.setpoints) {
      const atMs = msOf(set.at);
      const isFirst = program.on.some((on) => msOf(on.from) === atMs);
      const hotMs = msOf(set.hotFrom);
      heat(
        `${program.deck} ${atMs}`,
        program.deck,
        atMs,
        hotMs,
        isFirst ? "Light" : "Set",
        `${name} to ${set.tempC} °C`,
        minutes(atMs, hotMs),
      );
    }
    for (const on of program.on)
      heat(
        `${program.deck} off ${on.to}`,
        program.deck,
        msOf(on.to),
        msOf(on.to),
        "Switch off",
        name,
        "after the last load",
      );
  }
  cards.push(...kettleHeatCards(plan, station, fillings));
  return cards;
}

/** A kettle is lit and switched off; whoever does it is told what is in it. */
function kettleHeatCards(plan: Plan, station: Station, fillings: readonly Filling[]): Card[] {
  const program = plan.timetable.kettleProgram.find(({ kettle }) => kettle === station.id);
  const filledBy = (instant: string): Filling | undefined =>
    fillings.findLast(({ start }) => msOf(start) <= msOf(instant));
  return (program?.on ?? []).flatMap((on): Card[] => {
    const filled = filledBy(on.from);
    const left = filledBy(on.to)?.bath;
    const minutes = Math.round((msOf(on.boilsFrom) - msOf(on.from)) / MINUTE);
    const common = { task: undefined, unit: station.id, what: "the kettle", allergens: [] };
    const lye = (from: string, to: string): Pick<Card, "cautions"> =>
      hasLyeBetween(fillings, from, to) ? { cautions: ["lye"] } : {};
    return [
      {
        ...common,
        ...lye(on.from, on.boilsFrom),
        id: `${station.id} ${on.from}`,
        verb: "Light",
        where:
          filled?.bath && filled.kind === "first" && filled.start === on.from
            ? `filled with ${bathRecipe(filled.bath)}`
            : "",
        details: [`${minutes} min until it boils`],
        fromMs: msOf(on.from),
        toMs: msOf(on.boilsFrom),
      },
      {
        ...common,
        ...lye(on.to, on.to),
        id: `${station.id} off ${on.to}`,
        verb: "Switch off",
        where: left ? `${bathName(left)} is in it` : "",
        details: ["after the last boil"],
        fromMs: msOf(on.to),
        toMs: msOf(on.to),
      },
    ];
  });
}
