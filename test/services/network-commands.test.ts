import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Ajv2020 } from "ajv/dist/2020.js";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import * as documents from "../../schemas/documents.js";
import type { Balance, Comparison, Headroom, RemedyReport } from "../../schemas/index.js";
import { readDayFolder } from "../../services/day-folder.js";
import { headroomText } from "../../services/text/headroom.js";
import { build, deckshelf } from "../support/built.js";
import { smallFolder } from "../support/small-day.js";

const ORDINARY = "services/demo/ordinary-day";
const SPIKE = "services/demo/holiday-spike";
const ajv = new Ajv2020({ strict: false });
for (const schema of Object.values(documents)) ajv.addSchema(schema);

function valid(ref: string, value: unknown): void {
  const check = ajv.getSchema(ref)!;
  expect(check(value), JSON.stringify(check.errors)).toBe(true);
}

let folder: string;
beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-"));
}, 120_000);
afterAll(async () => {
  await rm(folder, { recursive: true, force: true });
});

describe("commands about the network", { timeout: 240_000 }, () => {
  it("headroom: the spike certainly does not fit, and its trials are told", async () => {
    const { code, stdout } = await deckshelf(["headroom", SPIKE, "--seconds", "4", "--quiet", "--json"]);
    const found = JSON.parse(stdout) as Headroom;
    valid("headroom.schema.json", found);
    expect(code).toBe(1);
    expect(found.verdict).toBe("does-not-fit");
    expect(found.binding[0]!.text).toMatch(/^shelf positions at Weir Yard commissary, \d\d:\d\d to \d\d:\d\d$/);
    const read = await readDayFolder(SPIKE);
    expect("day" in read && headroomText(read.day, found)).toMatch(
      /^No, as ordered it does not fit, and that is certain\./m,
    );
  });

  it("headroom of one product, as text", async () => {
    const { stdout, stderr } = await deckshelf([
      "headroom",
      ORDINARY,
      "--grow",
      "product:baton",
      "--to",
      "2",
      "--seconds",
      "3",
    ]);
    expect(stdout).toMatch(/How much fits, when Baton grows\?/);
    expect(stderr).toMatch(/what certainly does not fit/);
    expect(stdout).not.toMatch(/undefined|NaN|\[object/);
  });

  it.each([
    [["headroom", ORDINARY, "--grow", "baton"], /--grow must be all, or a list of product:/],
    [["headroom", ORDINARY, "--grow", "product:bagel"], /Product "bagel" is not there/],
    [["headroom", ORDINARY, "--to", "0"], /--to must be/],
    [["balance", ORDINARY, "--fix", "baton"], /--fix must be LINES=SITE/],
    [["balance", ORDINARY, "--share", "quay-shop=60..20"], /--share must be SITE=LEAST\.\.MOST/],
    [["balance", ORDINARY, "--fix", "product:baton=harbour"], /Site "harbour"/],
    [["compare", ORDINARY, "nowhere.json"], /nowhere\.json/],
    [["compare", ORDINARY], /compare needs/],
  ] as [string[], RegExp][])("says what is wrong with %j", async (args, message) => {
    const { code, stderr } = await deckshelf(args);
    expect(stderr).toMatch(message);
    expect(code).toBe(2);
  });

  it("compare: a what-if that names what is not there is told with its pointer; nothing is drawn", async () => {
    const path = join(folder, "wrong.json");
    const changes = [{ kind: "rent-fridge", site: "weir-yard", like: "cellar", shelves: 4 }];
    await writeFile(path, JSON.stringify({ format: "scenario/1", name: "wrong", changes }));
    const { code, stderr } = await deckshelf(["compare", SPIKE, path]);
    expect(code).toBe(2);
    expect(stderr).toMatch(/\/changes\/0\/like.*Fridge "cellar" is not at Weir Yard commissary/);
  });

  it("compare: side by side, as JSON and as text", async () => {
    const small = await smallFolder(folder, "holiday-spike");
    const out = join(folder, "comparison.json");
    const args = ["compare", small, "services/demo/what-if/rented-fridge.json", "--iterations", "150", "--quiet"];
    const text = await deckshelf([...args, "--out", out]);
    expect(text.code).toBe(0);
    const found = JSON.parse(await readFile(out, "utf8")) as Comparison;
    valid("comparison.schema.json", found);
    expect(found.sides.map(({ name }) => name)).toEqual(["as it is", "A rented fridge and two more at night"]);
    for (const side of found.sides) for (const load of side.loads) expect(load.busiest).toBeLessThanOrEqual(1);
    expect(text.stdout).toMatch(/Lines on time\s+\d+ of 8\s+\d+ of 8/);
    expect(text.stdout).toMatch(/shelves at Weir Yard commissary\s+\d+ %\s+\d+ %/);
  });

  it("balance: pieces add up, a fixed line is baked where it was fixed, wishes have their cost", async () => {
    const args = [
      "balance",
      ORDINARY,
      "--iterations",
      "20",
      "--fix",
      "product:baton=weir-yard",
      "--home",
      "0.05",
      "--quiet",
      "--json",
    ];
    const { stdout } = await deckshelf(args);
    const found = JSON.parse(stdout) as Balance;
    valid("balance.schema.json", found);
    const made = found.makes.reduce((sum, { pieces }) => sum + pieces, 0);
    expect(found.sites.reduce((sum, { bakedPieces }) => sum + bakedPieces, 0)).toBe(made);
    for (const make of found.makes) if (make.product === "baton") expect(make.bakedAt).toBe("weir-yard");
    expect(found.wishes.map(({ cost }) => cost !== undefined && cost >= 0)).toEqual([true, true]);
    for (const ride of found.transfers) expect(ride.positions).toBeLessThanOrEqual(ride.room);
  });

  it("remedies: drawn up and ranked", async () => {
    const { stdout } = await deckshelf(["remedies", SPIKE, "--seconds", "8", "--quiet", "--json"]);
    const found = JSON.parse(stdout) as RemedyReport;
    valid("headroom.schema.json#/$defs/RemedyReport", found);
    expect(found.asItIs.atLeastShort).toBeGreaterThan(0);
    expect(found.proposed).toBeGreaterThan(5);
  });
});
