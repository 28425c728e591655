import { describe, expect, it } from "vitest";
import { operandsOf, optionsOf, readArguments, UsageError } from "../../../services/cli/arguments.js";
import { command } from "../../../services/cli/command.js";
import { COMMANDS } from "../../../services/cli/commands/index.js";
import { helpText } from "../../../services/cli/help.js";

/** A command with every kind of option and operand. */
const sample = command({
  name: "sample",
  summary: "try every kind of option",
  operands: ["DAY_DIR", "[OTHER]"],
  options: {
    loud: { kind: "flag", help: "say more" },
    at: { kind: "text", label: "TIME", help: "the instant" },
    down: { kind: "texts", label: "UNIT", help: "out of service" },
    factor: { kind: "number", label: "N", least: 1, most: 9.5, isWhole: false, help: "so many times" },
  },
  about: "About it.",
  examples: ["deckshelf sample day"],
  run: async ({ options }) => ({ stdout: options.down.join(), stderr: "", code: 0 }),
});
const many = command({ ...sample, name: "many", operands: ["TIMETABLE..."], options: {} });

describe("the registry of commands", () => {
  it("has names once, and one kind for an option of one name", () => {
    const names = COMMANDS.map(({ name }) => name);
    expect(new Set(names).size).toBe(names.length);
    expect(names).not.toContain("help");
    const kinds = new Map<string, string>();
    for (const { options } of COMMANDS) {
      for (const [name, { kind }] of Object.entries(options)) {
        expect(kinds.get(name) ?? kind, name).toBe(kind);
        kinds.set(name, kind);
        expect(["help", "version", "server"]).not.toContain(name);
      }
    }
  });

  it.each(COMMANDS.map((entry) => [entry.name, entry] as const))("%s explains all of itself", (name, entry) => {
    expect(helpText(COMMANDS)).toContain(`deckshelf ${name}`);
    expect(helpText(COMMANDS)).toContain(entry.summary);
    const page = helpText(COMMANDS, name);
    for (const option of Object.keys(entry.options)) expect(page).toContain(`--${option}`);
    expect(entry.examples.length).toBeGreaterThan(0);
    for (const example of entry.examples) expect(example).toMatch(new RegExp(`^deckshelf ${name} `));
    for (const line of page.split("\n")) expect(line.length).toBeLessThanOrEqual(130);
  });

  it("reads every kind of option, in any place", () => {
    const typed = readArguments(
      ["--down", "oven-1", "sample", "--loud", "day", "--down=oven-2", "--factor", "2.5"],
      [sample],
    );
    expect(typed).toMatchObject({ name: "sample", operands: ["day"] });
    expect(optionsOf(sample, typed)).toEqual({ loud: true, at: undefined, down: ["oven-1", "oven-2"], factor: 2.5 });
    const bare = optionsOf(sample, readArguments(["sample"], [sample]));
    expect(bare).toEqual({ loud: false, at: undefined, down: [], factor: undefined });
  });

  it.each([
    [["sample", "--factor", "0.5"], "--factor must be a number from 1 to 9.5"],
    [["sample", "--factor", ""], "--factor"],
    [["sample", "--factor", "NaN"], "--factor"],
    [["sample", "--at"], "--at"],
    [["many", "--loud"], "many has no option --loud."],
  ])("%j is refused", (argv, words) => {
    const read = (): unknown => {
      const typed = readArguments(argv, [sample, many]);
      return optionsOf(typed.name === "many" ? many : sample, typed);
    };
    expect(read).toThrow(UsageError);
    expect(read).toThrow(words);
  });

  it("counts operands", () => {
    expect(operandsOf(sample, ["a"])).toEqual(["a"]);
    expect(operandsOf(sample, ["a", "b"])).toEqual(["a", "b"]);
    expect(() => operandsOf(sample, [])).toThrow("sample needs DAY_DIR.");
    expect(() => operandsOf(sample, ["a", "b", "c"])).toThrow('"c" is one too many');
    expect(operandsOf(many, ["a", "b", "c"])).toHaveLength(3);
    expect(() => operandsOf(many, [])).toThrow("many needs TIMETABLE...");
  });
});
