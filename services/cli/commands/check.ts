import { readDayFolder } from "../../day-folder.js";
import { command } from "../command.js";
import { badInput, EXIT, jsonText } from "../outcome.js";

export const check = command({
  name: "check",
  summary: "check the documents only",
  operands: ["DAY_DIR"],
  options: { json: { kind: "flag", help: "print the problems as JSON" } },
  about: `Checks the documents of a day: each by its schema, and all against each other. All problems are listed at once, each
with document, JSON pointer or CSV line and column, what is wrong, and what would mend it.`,
  examples: ["deckshelf check services/demo/ordinary-day"],
  async run({ operands, options }) {
    const read = await readDayFolder(operands[0]!);
    if ("issues" in read) return badInput(read.issues, options.json);
    const { network, catalogue, orders } = read.day;
    const text = `In order: ${network.sites.length} sites, ${catalogue.products.length} products from ${catalogue.doughs.length} doughs, ${orders.lines.length} order lines.\n`;
    return { stdout: options.json ? jsonText({ issues: [] }) : text, stderr: "", code: EXIT.good };
  },
});
