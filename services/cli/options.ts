/** Options that several commands have: the same name means the same everywhere. */

export const OUT = {
  out: { kind: "text", label: "FILE", help: "write the timetable as JSON to FILE (whole or not at all)" },
} as const;

/** What a repair goes by, to be kept with what it made. */
export const HAPPENINGS = {
  happenings: {
    kind: "text",
    label: "FILE",
    help: "write all that it goes by, options included, to FILE, to be kept as happenings.json",
  },
} as const;

export const BUDGET = {
  seconds: {
    kind: "number",
    label: "N",
    least: 0,
    most: 86_400,
    isWhole: false,
    help: "search for N seconds (default: the day's settings, else 5)",
  },
  iterations: {
    kind: "number",
    label: "N",
    least: 0,
    most: 1_000_000_000,
    isWhole: true,
    help: "search for N tries instead: the same day, seed and tries give the same timetable, byte for byte",
  },
  seed: {
    kind: "number",
    label: "N",
    least: 0,
    most: 4_294_967_295,
    isWhole: true,
    help: "another course of the search (default: the day's settings, else 1)",
  },
} as const;

export const QUIET = { quiet: { kind: "flag", help: "no progress on stderr" } } as const;

/** The part of a budget that was given, for functions whose fields may be absent but not undefined. */
export function budgetOf(options: {
  readonly seconds: number | undefined;
  readonly iterations: number | undefined;
  readonly seed: number | undefined;
}): { seconds?: number; iterations?: number; seed?: number } {
  return {
    ...(options.seconds === undefined ? {} : { seconds: options.seconds }),
    ...(options.iterations === undefined ? {} : { iterations: options.iterations }),
    ...(options.seed === undefined ? {} : { seed: options.seed }),
  };
}
