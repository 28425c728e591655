import { execFileSync } from "node:child_process";
import { readdirSync, readFileSync, statSync } from "node:fs";
import { dirname, join, normalize } from "node:path";
import { describe, expect, it } from "vitest";

function sources(folder: string): string[] {
  return readdirSync(folder).flatMap((name) => {
    const path = join(folder, name);
    if (statSync(path).isDirectory()) return sources(path);
    return /\.(tsx?|mjs)$/.test(name) ? [path] : [];
  });
}

function importsOf(file: string): string[] {
  const text = readFileSync(file, "utf8");
  return [...text.matchAll(/^(?:import|export)\b[^;"]*?\bfrom "([^"]+)";/gm)].map((match) => match[1]!);
}

function targetOf(file: string, specifier: string): string {
  return specifier.startsWith(".") ? normalize(join(dirname(file), specifier)) : specifier;
}

const LAYERS: Readonly<Record<string, readonly string[]>> = {
  schemas: ["schemas"],
  solver: ["schemas", "solver"],
  services: ["schemas", "solver", "services"],
};
/** The packages that the pure layers may use. */
const PURE_PACKAGES = [
  "ajv/dist/2020.js",
  "csv-parse/sync",
  "jsonc-parser",
  "temporal-polyfill",
  "highs",
  "javascript-lp-solver",
];

describe("architecture", () => {
  it("imports go one way: schemas <- solver <- services", () => {
    const wrong: string[] = [];
    for (const [layer, allowed] of Object.entries(LAYERS)) {
      for (const file of sources(layer)) {
        if (file.endsWith(".mjs")) continue;
        for (const specifier of importsOf(file)) {
          const target = targetOf(file, specifier);
          if (specifier.startsWith(".") && !allowed.includes(target.split("/")[0]!))
            wrong.push(`${file}: ${specifier}`);
          if (!specifier.startsWith(".") && layer !== "services" && !PURE_PACKAGES.includes(specifier))
            wrong.push(`${file}: ${specifier}`);
        }
      }
    }
    expect(wrong).toEqual([]);
  });

  it("the solver knows no clock, no chance, no environment and no files", () => {
    const wrong = sources("solver").filter((file) => {
      const text = readFileSync(file, "utf8").replaceAll(/\/\*[\s\S]*?\*\/|\/\/.*/g, "");
      return /Math\.random|Date\.now|new Date\(\)|performance\.|process\.|console\.|setTimeout|node:/.test(text);
    });
    expect(wrong).toEqual([]);
  });

  it("the verifier takes types from the schemas and nothing from the rest of the solver", () => {
    const wrong = sources("solver/verify").flatMap((file) =>
      importsOf(file)
        .map((specifier) => targetOf(file, specifier))
        .filter((target) => !target.startsWith("solver/verify/") && target !== "schemas/index.js")
        .map((target) => `${file}: ${target}`),
    );
    expect(wrong).toEqual([]);
    for (const file of sources("solver/verify")) {
      for (const line of readFileSync(file, "utf8").matchAll(/import (.*?) from "[./]*schemas\/index\.js"/gs))
        expect(line[1], file).toMatch(/^type /);
    }
  });

  it("the search knows nothing of documents", () => {
    for (const file of sources("solver/search")) {
      for (const specifier of importsOf(file)) {
        const target = targetOf(file, specifier);
        expect(target.startsWith("solver/search/") || target === "solver/rng.js", `${file}: ${target}`).toBe(true);
      }
    }
  });

  it("types and schema constants are those that the schemas give", () => {
    expect(() => execFileSync("node", ["schemas/generate.mjs", "--check"], { stdio: "pipe" })).not.toThrow();
  });
});
