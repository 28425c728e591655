import { execFileSync } from "node:child_process";
import type { ValidateFunction } from "ajv/dist/2020.js";
import { describe, expect, it } from "vitest";
import { compiler } from "../../../schemas/compiler.js";
import * as documents from "../../../schemas/documents.js";
import { build } from "../../support/built.js";

describe("the validators that the build writes", () => {
  it("say of wrong documents what the schemas say when they are compiled", { timeout: 120_000 }, async () => {
    build();
    const path = new URL("../../../dist/schemas/validators.js", import.meta.url).pathname;
    // In a process of its own, as the command line has them: vitest would rewrite the module.
    const wrong = [
      null,
      3,
      [],
      {},
      { format: "network/1", sites: [{ id: 7, ovens: "two" }] },
      { format: "orders/1", lines: [{}, 1] },
    ];
    const script = `const built = await import(${JSON.stringify(path)});
      const told = Object.entries(built).map(([name, check]) => [name, ${JSON.stringify(wrong)}.map((value) => (check(value), (check.errors ?? []).map(({ keyword, instancePath }) => keyword + instancePath)))]);
      process.stdout.write(JSON.stringify(told));`;
    const told = JSON.parse(execFileSync("node", ["--input-type=module", "-e", script], { encoding: "utf8" })) as [
      string,
      string[][],
    ][];
    expect(told.length).toBe(Object.keys(documents).length);
    const ajv = compiler();
    for (const [name, errors] of told) {
      const check = ajv.getSchema(`${name}.schema.json`) as ValidateFunction;
      const expected = wrong.map((value) => {
        check(value);
        return (check.errors ?? []).map(({ keyword, instancePath }) => keyword + instancePath);
      });
      expect(errors, name).toEqual(expected);
    }
  });
});
