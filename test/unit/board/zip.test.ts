import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { strToU8, zipSync } from "fflate";
import { describe, expect, it } from "vitest";
import { filesInZip, zipOf } from "../../../services/board/logic/zip.js";
import { filesOf } from "../../../services/day-files.js";
import { readDayFolder } from "../../../services/day-folder.js";
import { demoDay } from "./plan-fixture.js";

const AT = new Date("2026-11-27T03:40:00Z");

describe("a day as one zip", { timeout: 60_000 }, () => {
  it("gives the same files back, byte for byte", async () => {
    const { day, timetable } = await demoDay();
    const files = filesOf(day, timetable);
    const zip = zipOf(files, "ordinary-day", AT);
    expect(zip.length).toBeLessThan(200_000);
    const back = filesInZip(zip).map(({ name, bytes }) => [name, new TextDecoder().decode(bytes)]);
    expect(back).toEqual([...files]);
  });

  it("can be unpacked by other programs into a day folder", async () => {
    const { day, timetable } = await demoDay();
    const place = mkdtempSync(join(tmpdir(), "deckshelf-zip-"));
    writeFileSync(join(place, "day.zip"), zipOf(filesOf(day, timetable), "ordinary-day", AT));
    const python = "import sys, zipfile; zipfile.ZipFile(sys.argv[1]).extractall(sys.argv[2])";
    execFileSync("python3", ["-c", python, join(place, "day.zip"), place]);
    const read = await readDayFolder(join(place, "ordinary-day"));
    if ("issues" in read) throw new Error(JSON.stringify(read.issues));
    expect(read.day.orders).toEqual(day.orders);
    expect(readFileSync(join(place, "ordinary-day", "network.json"), "utf8")).toBe(
      filesOf(day, timetable).get("network.json"),
    );
  });

  it("reads files that stand in the zip itself or in a folder, and leaves what is deeper or hidden", () => {
    const text = strToU8("{}");
    const zip = zipSync({
      "a.json": text,
      "day/b.json": text,
      "day/deep/c.json": text,
      "__MACOSX/d.json": text,
      "day/.e": text,
    });
    expect(filesInZip(zip).map(({ name }) => name)).toEqual(["a.json", "b.json"]);
  });

  it("refuses what is no zip, is damaged, or unpacks to more than there is room for", () => {
    const zip = zipSync({ "a.json": strToU8("x".repeat(1000)) });
    expect(() => filesInZip(strToU8("{}"))).toThrow(/cannot be unpacked/);
    expect(() => filesInZip(zip.slice(0, zip.length / 2))).toThrow(/cannot be unpacked/);
    const large = zipSync({ "a.json": new Uint8Array(40 * 1024 * 1024), "b.json": new Uint8Array(40 * 1024 * 1024) });
    expect(large.length).toBeLessThan(1024 * 1024);
    expect(() => filesInZip(large)).toThrow(/more than 64 MB/);
  });
});
