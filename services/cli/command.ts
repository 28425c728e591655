import type { Outcome } from "./outcome.js";

/** What an option takes. `label` stands for the value in the help, `help` says what it does in one line. */
export type OptionSpec =
  | { readonly kind: "flag"; readonly help: string }
  | { readonly kind: "text"; readonly label: string; readonly help: string }
  /** May be given more than once. */
  | { readonly kind: "texts"; readonly label: string; readonly help: string }
  | {
      readonly kind: "number";
      readonly label: string;
      readonly help: string;
      readonly least: number;
      readonly most: number;
      readonly isWhole: boolean;
    };

export type OptionSpecs = Readonly<Record<string, OptionSpec>>;

type ValueOf<S> = S extends { kind: "flag" }
  ? boolean
  : S extends { kind: "text" }
    ? string | undefined
    : S extends { kind: "texts" }
      ? readonly string[]
      : number | undefined;

/** The values of a command's options, by name: flags are false and lists empty when not given. */
export type OptionValues<O extends OptionSpecs> = { readonly [K in keyof O]: ValueOf<O[K]> };

export type OptionValue = boolean | string | readonly string[] | number | undefined;

/** What a command was called with. */
export interface Invocation<O extends OptionSpecs> {
  readonly operands: readonly string[];
  readonly options: OptionValues<O>;
}

/** One command of the command line: all that the reading of arguments, the help and the running need. */
export interface Command<O extends OptionSpecs = OptionSpecs> {
  readonly name: string;
  /** Half a line for the general help. */
  readonly summary: string;
  /** Names in order: `DAY_DIR` must be given, `[OTHER]` may be, `TIMETABLE...` takes one or more and comes last. */
  readonly operands: readonly string[];
  readonly options: O;
  /** What the help page says above and below the options. */
  readonly about: string;
  readonly notes?: string;
  /** With --server URL its work is done there. */
  readonly usesServer?: boolean;
  /** Whole command lines. */
  readonly examples: readonly string[];
  readonly run: (invocation: Invocation<O>) => Promise<Outcome>;
}

/** Declares a command; inside `run` the options have the types that their kinds give. */
export function command<const O extends OptionSpecs>(declared: Command<O>): Command {
  return declared as unknown as Command;
}
