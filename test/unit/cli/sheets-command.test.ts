import { mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { validateDocument } from "../../../schemas/validate.js";
import { build, deckshelf } from "../../support/built.js";

let folder: string;
let table: string;
const DAY = "services/demo/ordinary-day";

beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-sheets-"));
  table = join(folder, "friday.json");
  const { code } = await deckshelf(["draw", DAY, "--iterations", "30", "--out", table, "--brief", "--quiet"]);
  expect([0, 1]).toContain(code);
}, 120_000);

afterAll(() => rm(folder, { recursive: true, force: true }));

describe("deckshelf sheets", { timeout: 60_000 }, () => {
  it("fills a folder, fills it again, and leaves nothing of the first time behind", async () => {
    const out = join(folder, "all");
    const first = await deckshelf(["sheets", DAY, table, "--out", out]);
    expect([first.code, first.stderr]).toEqual([0, ""]);
    expect(first.stdout).toMatch(/^\d+ sheets in .*: 3 orders, .* mix,/);
    expect(await readdir(out)).toEqual(
      expect.arrayContaining(["all.html", "sheets.json", "weir-yard", "weir-yard.html"]),
    );
    const again = await deckshelf(["sheets", DAY, table, "--out", out, "--site", "bridge-shop", "--kind", "orders"]);
    expect(again.code).toBe(0);
    expect((await readdir(out)).filter((name) => name.endsWith(".html")).sort()).toEqual([
      "all.html",
      "bridge-shop.html",
    ]);
    expect(await readFile(join(out, "bridge-shop", "bridge-shop--orders.csv"), "utf8")).toMatch(/^due,ready,pieces/);
  });

  it("refuses a folder with other things in it, and touches nothing", async () => {
    const out = join(folder, "taken");
    await import("node:fs/promises").then(({ mkdir }) => mkdir(out));
    await writeFile(join(out, "mine.txt"), "mine");
    const { code, stderr } = await deckshelf(["sheets", DAY, table, "--out", out]);
    expect([code, stderr]).toEqual([2, expect.stringContaining("holds other files")]);
    expect(await readdir(out)).toEqual(["mine.txt"]);
  });

  it.each([
    [[], "needs --out DIR or --json"],
    [["--json", "--kind", "poster"], 'no kind of sheet "poster"'],
    [["--json", "--site", "moon"], 'no site "moon"'],
    [["--json", "--paper", "a5"], "a4 or letter"],
  ])("says what is wrong with %j", async (more, text) => {
    const { code, stderr, stdout } = await deckshelf(["sheets", DAY, table, ...more]);
    expect([code, stdout]).toEqual([2, ""]);
    expect(stderr).toContain(text);
  });

  it("prints JSON", async () => {
    const { stdout } = await deckshelf(["sheets", DAY, table, "--json", "--kind", "van"]);
    const { sheets } = JSON.parse(stdout) as { sheets: { kind: string }[] };
    expect(sheets.length).toBeGreaterThan(0);
    expect(new Set(sheets.map(({ kind }) => kind))).toEqual(new Set(["van"]));
  });
});

describe("deckshelf calendar", { timeout: 60_000 }, () => {
  it("writes one for each station, group and person, or prints one", async () => {
    const out = join(folder, "calendars");
    expect((await deckshelf(["calendar", DAY, table, "--out", out])).code).toBe(0);
    expect(await readdir(out)).toEqual(
      expect.arrayContaining(["weir-yard--oven-1--deck-1.ics", "weir-yard--night--1.ics"]),
    );
    const one = await deckshelf(["calendar", DAY, table, "--for", "weir-yard/spiral-1", "--alarm", "10"]);
    expect(one.stdout).toMatch(/^BEGIN:VCALENDAR\r\n[\s\S]*TRIGGER:-PT10M[\s\S]*END:VCALENDAR\r\n$/);
  });

  it.each([
    [[], "either --out DIR or --for WHO"],
    [["--for", "weir-yard/ghost"], "has anything to do; there are weir-yard/"],
  ])("says what is wrong with %j", async (more, text) => {
    const { code, stderr } = await deckshelf(["calendar", DAY, table, ...more]);
    expect(code).toBe(2);
    expect(stderr).toContain(text);
  });
});

describe("deckshelf limits", { timeout: 60_000 }, () => {
  it("prints limits and lists with their sources; the JSON fits settings.json", async () => {
    const { stdout, code } = await deckshelf(["limits"]);
    expect(code).toBe(0);
    for (const words of ["Food Code 3-501.16", "SI 2013/2996", "1169/2011", "us-sesame", "read them again"])
      expect(stdout).toContain(words);
    const json = JSON.parse((await deckshelf(["limits", "--json"])).stdout) as { limits: unknown[] };
    const settings = JSON.parse(await readFile(`${DAY}/settings.json`, "utf8")) as object;
    expect(validateDocument("settings", { ...settings, limits: json.limits })).toEqual([]);
  });
});
