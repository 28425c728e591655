import { spawnSync } from "node:child_process";
import { closeSync, openSync } from "node:fs";
import { cp, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Timetable } from "../../../schemas/index.js";
import { build, deckshelf } from "../../support/built.js";

const DAY = "services/demo/ordinary-day";
const SPIKE = "services/demo/holiday-spike";
let folder: string;

beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-cli-"));
}, 120_000);
afterAll(async () => {
  await rm(folder, { recursive: true, force: true });
});

describe("deckshelf", { timeout: 60_000 }, () => {
  it("explains itself", async () => {
    const general = await deckshelf(["help"]);
    expect(general.code).toBe(0);
    for (const word of ["draw", "verify", "check", "Exit codes"]) expect(general.stdout).toContain(word);
    const draw = await deckshelf(["draw", "--help"]);
    for (const option of ["--out", "--json", "--brief", "--seconds", "--iterations", "--seed", "--quiet"])
      expect(draw.stdout).toContain(option);
    expect((await deckshelf(["help", "verify"])).stdout).toContain("R1 to R16");
    expect((await deckshelf(["--version"])).stdout).toMatch(/^deckshelf \d+\.\d+\.\d+\n$/);
    expect((await deckshelf([])).code).toBe(2);
  });

  it.each([
    [["bake"], 'no command "bake"'],
    [["draw"], "DAY_DIR"],
    [["draw", DAY, "more"], "one too many"],
    [["draw", DAY, "--colour"], "--colour"],
    [["draw", DAY, "--seconds", "soon"], "--seconds"],
    [["draw", DAY, "--iterations", "1.5"], "--iterations"],
    [["draw", DAY, "--seed", "-1"], "--seed"],
    [["check", DAY, "--seed", "1"], "no option --seed"],
    [["verify", DAY], "TIMETABLE"],
    [["draw", DAY, "--out", "services"], "is a folder"],
    [["draw", "no-such-folder"], "no folder"],
    [["verify", DAY, "no-such-file.json"], "missing"],
  ])("%j is bad input", async (args, words) => {
    const ran = await deckshelf(args);
    expect(ran.code).toBe(2);
    expect(ran.stderr).toContain(words);
    expect(ran.stderr).not.toMatch(/\n {4}at /);
    expect(ran.stdout).toBe("");
  });

  it.skipIf(process.platform !== "linux")("says so when its output goes to a full disk", () => {
    const full = openSync("/dev/full", "w");
    const ran = spawnSync(process.execPath, ["dist/services/cli/main.js", "check", DAY], {
      stdio: ["ignore", full, "pipe"],
    });
    closeSync(full);
    expect(ran.stderr.toString()).toMatch(/^The output could not be written: ENOSPC/);
    expect(ran.status).toBe(2);
  });

  it("checks a day, and tells of a broken one as text and as JSON", async () => {
    const good = await deckshelf(["check", DAY]);
    expect(good).toMatchObject({ code: 0, stderr: "" });
    expect(good.stdout).toContain("84 order lines");
    const dir = join(folder, "broken");
    await cp(DAY, dir, { recursive: true });
    const csv = await readFile(join(dir, "orders.csv"), "utf8");
    await writeFile(join(dir, "orders.csv"), csv.replace("plain-ring", "unicorn-ring"));
    const bad = await deckshelf(["check", dir]);
    expect(bad.code).toBe(2);
    expect(bad.stderr).toContain("line 2, column 2");
    expect(bad.stderr).toContain("unknown-product");
    const json = await deckshelf(["check", dir, "--json"]);
    expect(json.code).toBe(2);
    expect(JSON.parse(json.stdout).issues[0]).toMatchObject({
      code: "unknown-product",
      line: 2,
      column: 2,
      pointer: "/lines/0/product",
    });
    const drawn = await deckshelf(["draw", dir, "--out", join(folder, "never.json")]);
    expect(drawn.code).toBe(2);
    expect(await readdir(folder)).not.toContain("never.json");
  });

  it("draws a day, the same each time, writes it whole, and finds it sound", async () => {
    const out = join(folder, "friday.json");
    const args = ["draw", DAY, "--iterations", "60", "--seed", "5", "--quiet"];
    const first = await deckshelf([...args, "--out", out]);
    expect([0, 1]).toContain(first.code);
    expect(first.stderr).toBe("");
    for (const words of [
      "Weir Yard commissary",
      "orders on time",
      "Spiral mixer",
      "Twist bath",
      "dips of",
      "set ",
      "Vans",
      "Take care",
      "Lye burns",
      "Allergens in use",
      "local food code",
      "Total",
    ]) {
      expect(first.stdout.toLowerCase(), words).toContain(words.toLowerCase());
    }
    const written = await readFile(out, "utf8");
    const json = await deckshelf([...args, "--json"]);
    expect(json.stdout).toBe(written);
    const timetable = JSON.parse(written) as Timetable;
    const wanting = timetable.orders.some((order) => order.state !== "on-time");
    expect(first.code).toBe(wanting ? 1 : 0);
    const sound = await deckshelf(["verify", DAY, out]);
    expect(sound).toMatchObject({ code: 0, stdout: "Sound: no rule is broken.\n" });
  });

  it("refuses a timetable that was edited badly", async () => {
    const out = join(folder, "edited.json");
    await deckshelf(["draw", DAY, "--iterations", "20", "--quiet", "--out", out]);
    const timetable = JSON.parse(await readFile(out, "utf8")) as Timetable;
    const bake = timetable.tasks.find((task) => task.does === "bake")!;
    await writeFile(out, JSON.stringify({ ...timetable, tasks: timetable.tasks.filter((task) => task !== bake) }));
    const refused = await deckshelf(["verify", DAY, out]);
    expect(refused.code).toBe(3);
    expect(refused.stdout).toContain("R6 step-missing");
    const json = await deckshelf(["verify", DAY, out, "--json"]);
    expect(JSON.parse(json.stdout).breaches.length).toBeGreaterThan(0);
  });

  it("says what of a holiday is short and why", async () => {
    const ran = await deckshelf(["draw", SPIKE, "--iterations", "40", "--brief", "--quiet"]);
    expect(ran.code).toBe(1);
    expect(ran.stdout).toContain("Late or short\n  line-");
    expect(ran.stdout).toMatch(/ short\.\n {6}Not enough /);
  });

  it("stopped by Ctrl-C keeps the best so far", async () => {
    const ran = await deckshelf(["draw", DAY, "--seconds", "60", "--json"], { interruptAfterMs: 300 });
    expect([0, 1]).toContain(ran.code);
    expect((JSON.parse(ran.stdout) as Timetable).status).toBe("cancelled");
  });
});

describe("npm start", () => {
  it("draws the demo day and says where the timetable is", { timeout: 60_000 }, async () => {
    const { execFile } = await import("node:child_process");
    const stdout = await new Promise<string>((resolve, reject) => {
      execFile("node", ["dist/services/start.js", "--once"], (error, out) => (error ? reject(error) : resolve(out)));
    });
    expect(stdout).toContain("orders on time");
    const file = /Timetable: (.+)/.exec(stdout)![1]!;
    expect((JSON.parse(await readFile(file, "utf8")) as Timetable).format).toBe("timetable/1");
  });
});
