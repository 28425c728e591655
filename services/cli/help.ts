const EXIT_CODES = `Exit codes
  0  every order is on time (draw); the timetable is sound (verify); the documents are in order (check)
  1  a timetable was drawn, but something is late or short
  2  bad input: options, folder or documents
  3  the verifier refused the timetable
  4  a fault in the program itself`;

const GENERAL = `deckshelf: a capacity timetable for kitchens that mix, chill, proof, boil and bake on more than one site

  deckshelf draw DAY_DIR [options]        draw up the day's timetable
  deckshelf verify DAY_DIR TIMETABLE      check a timetable against the rules, however it was made
  deckshelf check DAY_DIR                 check the documents only
  deckshelf help [COMMAND]                this page, or a command's
  deckshelf --version

A day folder holds network.json, catalogue.json, orders.json or orders.csv, settings.json, and if need be
happenings.json and timetable-in-force.json.

${EXIT_CODES}`;

const DRAW = `deckshelf draw DAY_DIR [options]

Draws up the timetable of a day: who makes what, where and when, to the minute, with every shelf, deck and rack position
named. The verifier checks it before it is shown.

  --out FILE       write the timetable as JSON to FILE (whole or not at all)
  --json           print the timetable as JSON instead of text
  --brief          print the summary only
  --seconds N      search for N seconds (default: the day's settings, else 5)
  --iterations N   search for N tries instead: the same day, seed and tries give the same timetable, byte for byte
  --seed N         another course of the search (default: the day's settings, else 1)
  --quiet          no progress on stderr

Ctrl-C stops the search and keeps the best timetable so far; a second one ends the program.

Examples
  deckshelf draw services/demo/ordinary-day --out friday.json
  deckshelf draw services/demo/holiday-spike --seconds 20 --brief
  deckshelf draw services/demo/ordinary-day --iterations 2000 --seed 7 --json > friday.json

${EXIT_CODES}`;

const VERIFY = `deckshelf verify DAY_DIR TIMETABLE [--json]

Checks a timetable (JSON), drawn or edited by hand, against the day's documents and the rules R1 to R16, and lists every
breach with rule, tasks, unit and instants.

  --json           print the breaches as JSON

Example
  deckshelf verify services/demo/ordinary-day friday.json

${EXIT_CODES}`;

const CHECK = `deckshelf check DAY_DIR [--json]

Checks the documents of a day: each by its schema, and all against each other. All problems are listed at once, each
with document, JSON pointer or CSV line and column, what is wrong, and what would mend it.

  --json           print the problems as JSON

Example
  deckshelf check services/demo/ordinary-day

${EXIT_CODES}`;

const PAGES: Readonly<Record<string, string>> = { draw: DRAW, verify: VERIFY, check: CHECK };

export function helpText(command?: string): string {
  return `${PAGES[command ?? ""] ?? GENERAL}\n`;
}
