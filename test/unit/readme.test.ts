import { readFileSync } from "node:fs";
import { beforeAll, describe, expect, it } from "vitest";
import { build, deckshelf } from "../support/built.js";

beforeAll(build, 120_000);

describe("the README", () => {
  const readme = readFileSync("README.md", "utf8");

  it("begins with the job in one paragraph and has the two commands", () => {
    const [title, job] = readme.split("\n\n");
    expect(title).toMatch(/^# /);
    expect(job).toMatch(/planner/);
    expect(job!.length).toBeGreaterThan(200);
    expect(readme).toContain("npm ci && npm start");
    expect(readme).toContain("npm ci && npm test");
  });

  it("has command lines that run", { timeout: 60_000 }, async () => {
    const lines = [...readme.matchAll(/^npm run -s deckshelf -- (check [^#\n]*?) *(?:#.*)?$/gm)].map((match) =>
      match[1]!.split(" "),
    );
    expect(lines.length).toBeGreaterThan(0);
    for (const args of lines) expect((await deckshelf(args)).code).toBe(0);
  });

  it("names every document of a day folder, and DEVELOPERS.md every rule and definition", () => {
    for (const file of [
      "network.json",
      "catalogue.json",
      "orders.csv",
      "settings.json",
      "happenings.json",
      "timetable-in-force.json",
    ])
      expect(readme).toContain(file);
    const developers = readFileSync("DEVELOPERS.md", "utf8");
    for (let rule = 1; rule <= 16; rule++) expect(developers).toContain(`R${rule} `);
    for (let definition = 1; definition <= 20; definition++) expect(developers).toContain(`**D${definition} `);
  });
});
