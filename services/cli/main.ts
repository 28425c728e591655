#!/usr/bin/env node
import { readFileSync } from "node:fs";
import { packageRoot } from "../package-root.js";
import { RemoteError } from "../solving/remote.js";
import { runOnServer } from "../solving/run.js";
import { operandsOf, optionsOf, readArguments, serverOf, UsageError } from "./arguments.js";
import { COMMANDS } from "./commands/index.js";
import { helpText } from "./help.js";
import { EXIT, type Outcome } from "./outcome.js";

async function run(argv: readonly string[]): Promise<Outcome> {
  const typed = readArguments(argv, COMMANDS);
  const command = COMMANDS.find(({ name }) => name === typed.name);
  if (command === undefined && typed.name !== undefined && typed.name !== "help")
    throw new UsageError(`There is no command "${typed.name}".`);
  const options = command === undefined ? {} : optionsOf(command, typed);
  if (typed.version) {
    const { version } = JSON.parse(readFileSync(`${packageRoot()}/package.json`, "utf8")) as { version: string };
    return { stdout: `deckshelf ${version}\n`, stderr: "", code: EXIT.good };
  }
  if (typed.name === "help" || typed.help) {
    const about = typed.name === "help" ? typed.operands[0] : typed.name;
    return { stdout: helpText(COMMANDS, about), stderr: "", code: EXIT.good };
  }
  if (command === undefined) return { stdout: "", stderr: helpText(COMMANDS), code: EXIT.badInput };
  const operands = operandsOf(command, typed.operands);
  const server = serverOf(typed, command);
  if (server !== undefined) runOnServer({ url: server, token: process.env.DECKSHELF_TOKEN });
  return command.run({ operands, options });
}

function failed(error: unknown): Outcome {
  if (error instanceof UsageError)
    return { stdout: "", stderr: `${error.message} See deckshelf help.\n`, code: EXIT.badInput };
  if (error instanceof RemoteError) return { stdout: "", stderr: `${error.message}\n`, code: EXIT.badInput };
  const message = error instanceof Error ? error.message : String(error);
  const code = (error as NodeJS.ErrnoException | null)?.code;
  if (typeof code === "string" && /^E[A-Z]+$/.test(code))
    return { stdout: "", stderr: `${message}\n`, code: EXIT.badInput };
  const stack = process.env.DECKSHELF_DEBUG === "1" && error instanceof Error ? `${error.stack}\n` : "";
  return {
    stdout: "",
    stderr: `A fault in the program: ${message}. Please report it with the command and the day folder; DECKSHELF_DEBUG=1 shows where.\n${stack}`,
    code: EXIT.fault,
  };
}

/** A reader that has seen enough (a pager, head) is no error; a full disk behind it is none of the program. */
process.stdout.on("error", (error: NodeJS.ErrnoException) => {
  if (error.code === "EPIPE") process.exit(0);
  process.stderr.write(`The output could not be written: ${error.message}\n`);
  process.exit(EXIT.badInput);
});

const outcome = await run(process.argv.slice(2)).catch(failed);
if (outcome.stderr !== "") process.stderr.write(outcome.stderr);
process.exitCode = outcome.code;
if (outcome.stdout !== "") process.stdout.write(outcome.stdout);
