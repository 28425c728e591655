import type { Command, OptionSpecs } from "./command.js";

const EXIT_CODES = `Exit codes
  0  every order is on time (draw); the timetable is sound (verify); the documents are in order (check)
  1  a timetable was drawn, but something is late or short
  2  bad input: options, folder or documents
  3  the verifier refused the timetable
  4  a fault in the program itself`;

const TITLE =
  "deckshelf: a capacity timetable for kitchens that mix, chill, proof, boil and bake on more than one site";

const DAY_FOLDER = `A day folder holds network.json, catalogue.json, orders.json or orders.csv, settings.json, and if need be
happenings.json and timetable-in-force.json.`;

/** Least width of the first column, so that pages with few short options look like the others. */
const OPTION_COLUMN = 14;
const COMMAND_COLUMN = 37;

function columns(rows: readonly (readonly [string, string])[], least: number, gap: number): string {
  const width = Math.max(least, ...rows.map(([left]) => left.length));
  return rows.map(([left, right]) => `  ${left.padEnd(width + gap)}${right}`.trimEnd()).join("\n");
}

function optionRows(options: OptionSpecs): [string, string][] {
  return Object.entries(options).map(([name, spec]) => [
    spec.kind === "flag" ? `--${name}` : `--${name} ${spec.label}${spec.kind === "texts" ? " ..." : ""}`,
    spec.help,
  ]);
}

/** `deckshelf verify DAY_DIR TIMETABLE`, with the one option or "[options]". */
function usage(command: Command, oneOption: boolean): string {
  const names = Object.keys(command.options);
  const only = names.length === 1 ? optionRows(command.options)[0]![0] : "options";
  const tail = names.length === 0 || (names.length === 1 && !oneOption) ? [] : [`[${only}]`];
  return ["deckshelf", command.name, ...command.operands, ...tail].join(" ");
}

function serverText(commands: readonly Command[]): string {
  const names = commands.filter((command) => command.usesServer).map(({ name }) => name);
  return `With --server URL the work of ${names.join(", ")} is done by a server (a token, if it needs one: DECKSHELF_TOKEN).`;
}

function general(commands: readonly Command[]): string {
  const rows: [string, string][] = [
    ...commands.map((command): [string, string] => [usage(command, false), command.summary]),
    ["deckshelf help [COMMAND]", "this page, or a command's"],
    ["deckshelf --version", ""],
  ];
  return [TITLE, columns(rows, COMMAND_COLUMN, 3), DAY_FOLDER, serverText(commands), EXIT_CODES].join("\n\n");
}

function page(command: Command): string {
  const parts = [
    usage(command, true),
    command.about,
    columns(optionRows(command.options), OPTION_COLUMN, 3),
    command.notes ?? "",
    command.examples.length === 0
      ? ""
      : [`Example${command.examples.length > 1 ? "s" : ""}`, ...command.examples.map((line) => `  ${line}`)].join("\n"),
    EXIT_CODES,
  ];
  return parts.filter((part) => part !== "").join("\n\n");
}

/** The page of a command, or the general one. */
export function helpText(commands: readonly Command[], name?: string): string {
  const command = commands.find((candidate) => candidate.name === name);
  return `${command === undefined ? general(commands) : page(command)}\n`;
}
