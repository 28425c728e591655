import { cp, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { validateDocument } from "../../../schemas/validate.js";
import { build, deckshelf } from "../../support/built.js";
import { carriedMorning } from "../../support/carried.js";

const DAY = "services/demo/ordinary-day";
const DOWN = "weir-yard/oven-1/deck-2=05:00/07:30";
let folder: string;
let friday: string;

beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-morning-"));
  friday = join(folder, "friday.json");
  const drawn = await deckshelf(["draw", DAY, "--iterations", "150", "--quiet", "--brief", "--out", friday]);
  expect([0, 1]).toContain(drawn.code);
}, 180_000);
afterAll(() => rm(folder, { recursive: true, force: true }));

describe("the morning on the command line", { timeout: 120_000 }, () => {
  it("repair prints who has to do what, writes the timetable, and what it wrote is sound", async () => {
    const out = join(folder, "repaired.json");
    const args = ["repair", DAY, "--from", friday, "--at", "2026-11-27T05:00", "--down", DOWN, "--iterations", "48"];
    const ran = await deckshelf([...args, "--quiet", "--out", out]);
    expect(ran.stderr).toBe("");
    expect(ran.code).toBe(1);
    expect(ran.stdout).toMatch(/As things stand fri 2026-11-27 05:00: \d+ tasks? of \d+ loads? move/);
    expect(ran.stdout).toContain("Weir Yard commissary");
    expect(validateDocument("timetable", JSON.parse(await readFile(out, "utf8")))).toEqual([]);
    const asJson = await deckshelf([...args, "--quiet", "--json"]);
    const { changes } = JSON.parse(asJson.stdout) as {
      changes: { format: string; counts: { moved: number; gone: number } };
    };
    expect(changes.format).toBe("changes/1");
    expect(changes.counts.moved + changes.counts.gone).toBeGreaterThan(0);
  });

  it("what was repaired says that it needs its news, which verify takes as repair does, or from where they were kept", async () => {
    const { before, bake, stay } = await carriedMorning();
    const from = join(folder, "before.json");
    const out = join(folder, "again.json");
    await writeFile(from, JSON.stringify(before));
    const at = bake[0].end.slice(0, 16);
    const down = [bake[0].unit!, stay[0].places![0]!.unit].map((unit) => `--down ${unit}=${at.slice(11)}`);
    const news = ["--at", at, ...down.flatMap((text) => text.split(" "))];
    const repair = [
      "repair",
      DAY,
      "--from",
      from,
      ...news,
      "--iterations",
      "30",
      "--seed",
      "1",
      "--remedies",
      "0",
      "--quiet",
    ];
    const ran = await deckshelf([...repair, "--out", out]);
    expect(ran.stdout).toContain(`goes by news that happenings.json does not have`);
    expect(ran.stdout).toContain(`(${news.join(" ")})`);
    const bare = await deckshelf(["verify", DAY, out]);
    expect(bare.code).toBe(3);
    expect(bare.stdout).toContain("is split");
    expect(await deckshelf(["verify", DAY, out, ...news])).toMatchObject({ code: 0 });
    expect(await deckshelf(["verify", DAY, out, ...news, "--from", from])).toMatchObject({ code: 0 });
    const day = join(folder, "day");
    await cp(DAY, day, { recursive: true });
    const kept = join(day, "happenings.json");
    expect((await deckshelf([...repair, "--happenings", kept])).stdout).toContain(`What it goes by is in ${kept}`);
    await cp(out, join(day, "timetable-in-force.json"));
    expect(await deckshelf(["verify", day, out])).toMatchObject({ code: 0 });
  });

  it("repair without news gives the timetable in force back", async () => {
    const ran = await deckshelf(["repair", DAY, "--from", friday, "--at", "2026-11-27T05:00", "--quiet", "--brief"]);
    expect(ran.stdout).toContain("still holds. Nothing changes.");
  });

  it("drift says whether a repair is worth it", async () => {
    const quiet = await deckshelf(["drift", DAY, "--from", friday, "--at", "2026-11-27T05:00"]);
    expect(quiet.code).toBe(0);
    expect(quiet.stdout).toContain("no repair is needed");
    const down = await deckshelf([
      "drift",
      DAY,
      "--from",
      friday,
      "--at",
      "2026-11-27T05:00",
      "--down",
      DOWN,
      "--json",
    ]);
    expect(down.code).toBe(1);
    expect(JSON.parse(down.stdout)).toMatchObject({ format: "drift/1", holds: false });
  });

  it("hold refuses what cannot be, with the rule and the nearest times", async () => {
    const { tasks } = JSON.parse(await readFile(friday, "utf8")) as {
      tasks: { id: string; does: string; start: string }[];
    };
    const bake = tasks.find((task) => task.does === "bake" && task.start > "2026-11-27T06:00")!;
    const ran = await deckshelf([
      "hold",
      DAY,
      friday,
      "--at",
      "2026-11-27T05:00",
      "--task",
      `${bake.id}=13:50`,
      "--quiet",
    ]);
    expect(ran.code).toBe(2);
    expect(ran.stderr).toMatch(/^Refused \(R\d+\): /);
    const start = bake.start.slice(0, 16);
    const kept = await deckshelf([
      "hold",
      DAY,
      friday,
      "--task",
      `${bake.id}=${start}`,
      "--iterations",
      "16",
      "--quiet",
    ]);
    expect([0, 1]).toContain(kept.code);
  });

  it("replay prints chances with their interval, the same for the same seed", async () => {
    const ran = await deckshelf(["replay", DAY, friday, "--runs", "50", "--seed", "4"]);
    expect(ran.code).toBe(0);
    expect(ran.stdout).toContain("Wilson score, 95 %");
    expect((await deckshelf(["replay", DAY, friday, "--runs", "50", "--seed", "4"])).stdout).toBe(ran.stdout);
    const asJson = await deckshelf(["replay", DAY, friday, "--runs", "10", "--json"]);
    expect(JSON.parse(asJson.stdout)).toMatchObject({ format: "replay/1", runs: 10 });
  });

  it.each([
    [["repair", DAY], "no timetable in force"],
    [["repair", DAY, "--from", "FRIDAY"], "--at"],
    [["repair", DAY, "--from", "FRIDAY", "--at", "five"], "--at takes a date and time"],
    [["drift", DAY, "--from", "FRIDAY", "--at", "05:00"], "--at takes a date and time"],
    [
      ["repair", DAY, "--from", "FRIDAY", "--at", "2026-11-27T05:00", "--down", "weir-yard/oven-1"],
      "--down takes UNIT=FROM/TO",
    ],
    [
      ["repair", DAY, "--from", "FRIDAY", "--at", "2026-11-27T05:00", "--down", "weir-yard/oven-9=05:00"],
      "no unit oven-9",
    ],
    [
      ["repair", DAY, "--from", "FRIDAY", "--at", "2026-11-27T05:00", "--running", "nothing-bake=05:20"],
      "nothing-bake",
    ],
    [["hold", DAY, "FRIDAY"], "--task"],
    [["hold", DAY, "FRIDAY", "--task", "x"], "--task takes"],
  ] as const)("%s is told what is wrong", async (args, told) => {
    const ran = await deckshelf(args.map((arg) => (arg === "FRIDAY" ? friday : arg)));
    expect(ran.code).toBe(2);
    expect(ran.stderr).toContain(told);
  });

  it("hold takes HH:MM of the morning inside the window, in both forms of the help", async () => {
    const { tasks } = JSON.parse(await readFile(friday, "utf8")) as {
      tasks: { id: string; does: string; start: string; unit: string }[];
    };
    const bake = tasks.find(({ does, start }) => does === "bake" && start < "2026-11-27T11")!;
    expect(bake.start > "2026-11-27T00").toBe(true);
    const clock = bake.start.slice(11, 16);
    for (const wish of [`${bake.id}=${clock}`, `${bake.id}=${clock}/${bake.unit}`]) {
      const ran = await deckshelf(["hold", DAY, friday, "--task", wish, "--iterations", "16", "--quiet", "--brief"]);
      expect(ran.stderr).toBe("");
      expect([0, 1]).toContain(ran.code);
    }
  });

  it("takes happenings and the timetable in force from the day folder", async () => {
    const dir = await mkdtemp(join(folder, "day-"));
    for (const name of ["network.json", "catalogue.json", "settings.json", "orders.csv"])
      await writeFile(join(dir, name), await readFile(join(DAY, name)));
    await writeFile(join(dir, "timetable-in-force.json"), await readFile(friday));
    const happenings = [{ kind: "order-cancelled", line: "line-001" }];
    await writeFile(
      join(dir, "happenings.json"),
      JSON.stringify({ format: "happenings/1", at: "2026-11-27T02:00", happenings }),
    );
    const ran = await deckshelf(["repair", dir, "--iterations", "16", "--quiet", "--brief"]);
    expect(ran.stdout).toContain("line-001");
    expect(ran.stdout).toContain("cancelled");
  });
});
