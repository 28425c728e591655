import type { DayChange, DayDocuments, Happening, Scenario } from "../../../schemas/index.js";
import { changed, changeWords } from "../../../solver/scenario/kinds.js";
import { stationsOf } from "../../../solver/stations.js";

/** A what-if that is kept on this device: the scenario document, and under which name it is known here. */
export interface KeptScenario {
  readonly id: string;
  readonly document: Scenario;
}

/** What is known of the day before any timetable: these stay in a what-if. All else speaks of tasks of the timetable in force. */
const OF_THE_DAY: ReadonlySet<Happening["kind"]> = new Set([
  "out-of-service",
  "slower",
  "smaller",
  "absent",
  "order-added",
  "order-changed",
  "order-cancelled",
  "van-late",
]);

/** The day as it would be drawn up from its beginning: without the timetable in force, what has begun, and what is pinned. */
export function fromTheBeginning(documents: DayDocuments): DayDocuments {
  const { inForce: _, ...day } = documents;
  const { at: __, ...happenings } = day.happenings;
  const kept = happenings.happenings.filter((happening) => OF_THE_DAY.has(happening.kind));
  return { ...day, happenings: { ...happenings, happenings: kept } };
}

/** Whether a what-if leaves something out that the day knows. */
export function leavesOut({ happenings }: DayDocuments): boolean {
  return happenings.at !== undefined || happenings.happenings.some(({ kind }) => !OF_THE_DAY.has(kind));
}

/** The documents with everything imagined; the day itself is not edited. Throws CannotChange where a change does not fit the day. */
export function imagined(documents: DayDocuments, changes: readonly DayChange[]): DayDocuments {
  return changed(fromTheBeginning(documents), changes);
}

/** One line for a change; a change that speaks of what the day does not have is named by its kind. */
export function changeText(documents: DayDocuments, change: DayChange): string {
  try {
    return changeWords(documents, change);
  } catch {
    return change.kind.replaceAll("-", " ");
  }
}

/** A scenario read from a file, or what is wrong with it. What a change may hold is the server's to say. */
export function readScenario(text: string): Scenario | string {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    return `This is no JSON: ${(error as Error).message}.`;
  }
  const { format, name, changes } = (value ?? {}) as Partial<Scenario>;
  if (format !== "scenario/1") return 'This is no scenario: its "format" is not "scenario/1".';
  if (typeof name !== "string" || !Array.isArray(changes)) return "A scenario has a name and a list of changes.";
  const bad = changes.findIndex((change) => typeof (change as { kind?: unknown } | null)?.kind !== "string");
  if (bad >= 0) return `Change ${bad + 1} has no kind.`;
  return value as Scenario;
}

/** Every unit of the network with its name; decks too. */
export function allUnits(documents: DayDocuments): { readonly ref: string; readonly name: string }[] {
  return documents.network.sites.flatMap((site) => [
    ...stationsOf(site).map((unit) => ({
      ref: `${site.id}/${unit.id}`,
      name: `${unit.name}, ${site.name}`,
    })),
    ...site.ovens.flatMap((oven) =>
      oven.decks.map((deck) => ({
        ref: `${site.id}/${oven.id}/${deck.id}`,
        name: `${oven.name}, ${deck.id.replace(/-/g, " ")}, ${site.name}`,
      })),
    ),
  ]);
}
