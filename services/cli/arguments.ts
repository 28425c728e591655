import { parseArgs } from "node:util";
import type { Command, OptionSpec, OptionValue } from "./command.js";

/** The user's words are wrong: said on stderr, exit code 2. */
export class UsageError extends Error {}

/** The command line as typed, options still text. */
export interface Typed {
  readonly name: string | undefined;
  readonly operands: readonly string[];
  readonly values: Readonly<Record<string, string | boolean | readonly string[] | undefined>>;
  readonly help: boolean;
  readonly version: boolean;
  /** A server that does the work. */
  readonly server: string | undefined;
}

type ParseSpec = { type: "boolean" | "string"; multiple?: boolean; short?: string };

/** Options of all commands together, so that they may stand before the command's name. */
function parseSpecs(commands: readonly Command[]): Record<string, ParseSpec> {
  const specs: Record<string, ParseSpec> = {
    help: { type: "boolean", short: "h" },
    version: { type: "boolean" },
    server: { type: "string" },
  };
  for (const { options } of commands) {
    for (const [name, { kind }] of Object.entries(options))
      specs[name] = { type: kind === "flag" ? "boolean" : "string", multiple: kind === "texts" };
  }
  return specs;
}

/** Splits the command line; throws UsageError with a sentence that says what is wrong. */
export function readArguments(argv: readonly string[], commands: readonly Command[]): Typed {
  try {
    const { values, positionals } = parseArgs({
      args: [...argv],
      options: parseSpecs(commands),
      allowPositionals: true,
      strict: true,
    });
    const { help, version, server, ...rest } = values as Record<string, string | boolean | string[] | undefined>;
    const [name, ...operands] = positionals;
    return {
      name,
      operands,
      values: rest,
      help: help === true,
      version: version === true,
      server: server as string | undefined,
    };
  } catch (error) {
    throw new UsageError(`${(error as Error).message.split(". ")[0]}.`);
  }
}

function number(name: string, text: string, spec: Extract<OptionSpec, { kind: "number" }>): number {
  const value = Number(text);
  const { least, most, isWhole } = spec;
  const isGood = text.trim() !== "" && value >= least && value <= most && (!isWhole || Number.isInteger(value));
  if (isGood) return value;
  throw new UsageError(
    `--${name} must be ${isWhole ? "a whole number" : "a number"} from ${least} to ${most}, not "${text}".`,
  );
}

/** The address of a server, checked. */
export function serverOf(typed: Typed, command: Command): string | undefined {
  if (typed.server === undefined) return undefined;
  if (command.usesServer !== true) throw new UsageError(`${command.name} works without a server; leave --server out.`);
  if (URL.canParse(typed.server) && /^https?:$/.test(new URL(typed.server).protocol)) return typed.server;
  throw new UsageError(`--server must be an address such as http://127.0.0.1:8710, not "${typed.server}".`);
}

/** The values of a command's options, typed; one that the command does not have is refused. */
export function optionsOf(command: Command, typed: Typed): Record<string, OptionValue> {
  for (const name of Object.keys(typed.values)) {
    if (command.options[name] === undefined) throw new UsageError(`${command.name} has no option --${name}.`);
  }
  const values: Record<string, OptionValue> = {};
  for (const [name, spec] of Object.entries(command.options)) {
    const value = typed.values[name];
    if (spec.kind === "flag") values[name] = value === true;
    else if (spec.kind === "texts") values[name] = (value as readonly string[] | undefined) ?? [];
    else if (spec.kind === "text") values[name] = value as string | undefined;
    else values[name] = value === undefined ? undefined : number(name, value as string, spec);
  }
  return values;
}

const isOptional = (name: string): boolean => name.startsWith("[");
const isRepeated = (name: string): boolean => name.endsWith("...");

/** As many operands as the command takes, else UsageError with their names. */
export function operandsOf(command: Command, given: readonly string[]): readonly string[] {
  const names = command.operands;
  const needed = names.filter((name) => !isOptional(name));
  if (given.length < needed.length) throw new UsageError(`${command.name} needs ${needed.join(" and ")}.`);
  const most = names.some(isRepeated) ? Number.POSITIVE_INFINITY : names.length;
  if (given.length > most)
    throw new UsageError(
      `${command.name} takes ${names.length === 0 ? "no operand" : `${names.join(" and ")} only`}; "${given[most]}" is one too many.`,
    );
  return given;
}
