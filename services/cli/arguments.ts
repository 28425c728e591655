import { parseArgs } from "node:util";

/** The user's words are wrong: said on stderr, exit code 2. */
export class UsageError extends Error {}

const FLAGS = {
  json: { type: "boolean" },
  brief: { type: "boolean" },
  quiet: { type: "boolean" },
  help: { type: "boolean", short: "h" },
  version: { type: "boolean" },
  out: { type: "string" },
  seconds: { type: "string" },
  iterations: { type: "string" },
  seed: { type: "string" },
} as const;

export interface Arguments {
  readonly command: string | undefined;
  readonly operands: readonly string[];
  readonly json: boolean;
  readonly brief: boolean;
  readonly quiet: boolean;
  readonly help: boolean;
  readonly version: boolean;
  readonly out: string | undefined;
  readonly seconds: number | undefined;
  readonly iterations: number | undefined;
  readonly seed: number | undefined;
}

/** Options that a command knows besides --help. */
const KNOWN: Readonly<Record<string, readonly string[]>> = {
  draw: ["json", "brief", "quiet", "out", "seconds", "iterations", "seed"],
  verify: ["json"],
  check: ["json"],
  help: [],
};

function number(name: string, text: string | undefined, most: number, whole: boolean): number | undefined {
  if (text === undefined) return undefined;
  const value = Number(text);
  if (
    text.trim() === "" ||
    !Number.isFinite(value) ||
    value < 0 ||
    value > most ||
    (whole && !Number.isInteger(value))
  ) {
    throw new UsageError(
      `--${name} must be ${whole ? "a whole number" : "a number"} from 0 to ${most}, not "${text}".`,
    );
  }
  return value;
}

/** Reads the command line; throws UsageError with a sentence that says what is wrong. */
export function readArguments(argv: readonly string[]): Arguments {
  let parsed: ReturnType<typeof parse>;
  try {
    parsed = parse(argv);
  } catch (error) {
    throw new UsageError(`${(error as Error).message.split(". ")[0]}.`);
  }
  const { values, positionals } = parsed;
  const [command, ...operands] = positionals;
  const known = command === undefined ? [] : KNOWN[command];
  if (command !== undefined && known === undefined) throw new UsageError(`There is no command "${command}".`);
  for (const name of Object.keys(values)) {
    if (name !== "help" && name !== "version" && command !== undefined && !known!.includes(name))
      throw new UsageError(`${command} has no option --${name}.`);
  }
  return {
    command,
    operands,
    json: values.json ?? false,
    brief: values.brief ?? false,
    quiet: values.quiet ?? false,
    help: values.help ?? false,
    version: values.version ?? false,
    out: values.out,
    seconds: number("seconds", values.seconds, 86_400, false),
    iterations: number("iterations", values.iterations, 1_000_000_000, true),
    seed: number("seed", values.seed, 4_294_967_295, true),
  };
}

function parse(argv: readonly string[]) {
  return parseArgs({ args: [...argv], options: FLAGS, allowPositionals: true, strict: true });
}

/** Exactly so many operands, named in the message. */
export function operands(args: Arguments, names: readonly string[]): string[] {
  if (args.operands.length < names.length) throw new UsageError(`${args.command} needs ${names.join(" and ")}.`);
  if (args.operands.length > names.length)
    throw new UsageError(
      `${args.command} takes ${names.join(" and ")} only; "${args.operands[names.length]}" is one too many.`,
    );
  return [...args.operands];
}
