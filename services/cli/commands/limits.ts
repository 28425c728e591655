import { ALLERGEN_LISTS } from "../../../solver/trade/allergen-lists.js";
import { COMES_FIRST } from "../../../solver/trade/cautions.js";
import { PUBLISHED_LIMITS } from "../../../solver/trade/food-code.js";
import { command } from "../command.js";
import { EXIT, jsonText } from "../outcome.js";

function text(): string {
  const limits = PUBLISHED_LIMITS.flatMap(({ id, jurisdiction, source, says }) => [
    `  ${id}: ${says}`,
    `      ${jurisdiction}; ${source}`,
  ]);
  const lists = ALLERGEN_LISTS.flatMap(({ id, name, source, entries }) => [
    `  ${id}: ${name}`,
    `      ${source}`,
    ...entries.map((entry) => `      ${entry.code}: ${entry.name}`),
  ]);
  return [
    "Published time and temperature limits (for limits in settings.json; a dough names the one that it is under)",
    ...limits,
    "",
    "Allergen lists (for allergenLists in settings.json and regulatedAs of a catalogue's allergens)",
    ...lists,
    "",
    `Rules change and differ from place to place: read them again before you enter them. ${COMES_FIRST}`,
    "",
  ].join("\n");
}

export const limits = command({
  name: "limits",
  summary: "published limits and allergen lists, with their sources",
  operands: [],
  options: { json: { kind: "flag", help: "print them as JSON, the limits ready for settings.json" } },
  about: `Prints published time and temperature limits and the US and EU allergen lists, each with its source. None is applied unless
it is entered in the day's settings.`,
  examples: ["deckshelf limits --json > published.json"],
  async run({ options }) {
    if (!options.json) return { stdout: text(), stderr: "", code: EXIT.good };
    const ready = PUBLISHED_LIMITS.map(({ says: _says, ...limit }) => limit);
    return { stdout: jsonText({ limits: ready, allergenLists: ALLERGEN_LISTS }), stderr: "", code: EXIT.good };
  },
});
