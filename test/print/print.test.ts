import { execFile, execFileSync } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";
import { describe, expect, it } from "vitest";
import type { DayDocuments } from "../../schemas/index.js";
import { layOut, sheetsHtml } from "../../services/sheets/html.js";
import type { Paper } from "../../services/sheets/layout.js";
import { sheetsOf } from "../../solver/sheets/index.js";
import { drawn } from "../support/drawn.js";
import { earlier } from "../support/earlier.js";

/** Prints the sheets with a real browser: as many pages come out as were laid out, on both papers. */
const BROWSERS = ["chromium", "chromium-browser", "google-chrome"];
const browser = BROWSERS.find((name) => {
  try {
    execFileSync(name, ["--version"], { stdio: "pipe" });
    return true;
  } catch {
    return false;
  }
});

async function printed(html: string): Promise<{ pages: number; size: string }> {
  const folder = await mkdtemp(join(tmpdir(), "sheets-"));
  try {
    const page = join(folder, "page.html");
    const pdf = join(folder, "page.pdf");
    await writeFile(page, html);
    const args = [
      "--headless",
      "--no-sandbox",
      "--disable-gpu",
      "--no-pdf-header-footer",
      `--user-data-dir=${folder}/profile`,
    ];
    await new Promise<void>((resolve, reject) => {
      execFile(browser!, [...args, `--print-to-pdf=${pdf}`, `file://${page}`], { timeout: 90_000 }, (error) =>
        error ? reject(error) : resolve(),
      );
    });
    const text = (await readFile(pdf)).toString("latin1");
    return {
      pages: [...text.matchAll(/\/Type\s*\/Page\b/g)].length,
      size: /\/MediaBox\s*\[([^\]]+)\]/.exec(text)?.[1]?.trim() ?? "",
    };
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** Labels, boxes and cells whose text is cut off or runs over, by what they say. */
async function cutOff(html: string): Promise<string[]> {
  const opened = await chromium.launch({ executablePath: pathOf(browser!), args: ["--no-sandbox"] });
  try {
    const page = await opened.newPage();
    await page.setContent(html);
    await page.emulateMedia({ media: "print" });
    // What hangs out of the foot of a page stands in the head of the next, or is cut off.
    const hanging = await page.$$eval(".page", (pages) =>
      pages.flatMap((each) => {
        const foot = each.querySelector("footer span")!;
        const isOut = foot.getBoundingClientRect().bottom > each.getBoundingClientRect().bottom + 1;
        return isOut ? [`FOOT ${foot.textContent}`] : [];
      }),
    );
    await page.emulateMedia({ media: "screen" });
    const cut = await page.$$eval("article, .facts > div, td, th, .allergens", (elements) =>
      elements
        .filter((each) => each.scrollHeight > each.clientHeight + 1 || each.scrollWidth > each.clientWidth + 1)
        .map((each) => `${each.tagName} ${each.textContent}`),
    );
    return [...hanging, ...cut];
  } finally {
    await opened.close();
  }
}

function pathOf(name: string): string {
  return execFileSync("which", [name]).toString().trim();
}

async function expectAsLaidOut(
  name: "ordinary-day" | "holiday-spike",
  paper: Paper,
  change: (day: DayDocuments) => DayDocuments = (day) => day,
  daysEarlier = 0,
): Promise<string> {
  const { day, timetable: drawnUp } = await drawn(name, 200, change);
  const timetable = daysEarlier > 0 ? earlier(drawnUp, daysEarlier, day.network.sites[0]!.timeZone) : drawnUp;
  const sheets = sheetsOf(day, timetable);
  const laid = layOut(day, timetable, sheets, paper);
  const { pages, size } = await printed(sheetsHtml(day, timetable, sheets, paper));
  expect(pages).toBe(laid.length);
  for (const page of laid) expect(page.pt).toBeGreaterThanOrEqual(11);
  expect(await cutOff(sheetsHtml(day, timetable, sheets, paper))).toEqual([]);
  return size;
}

describe.runIf(browser !== undefined)("printed by a browser", { timeout: 180_000 }, () => {
  it("an ordinary day on A4, one printed page for each page", async () => {
    const [, , width, height] = (await expectAsLaidOut("ordinary-day", "a4")).split(" ").map(Number);
    expect(Math.abs(width! - 595.3)).toBeLessThan(1);
    expect(Math.abs(height! - 841.9)).toBeLessThan(1);
  });

  it("a holiday with short lines and their reasons on Letter, in pounds and Fahrenheit", async () => {
    const us = (day: DayDocuments): DayDocuments => ({
      ...day,
      settings: { ...day.settings, units: "us-customary", currency: "XXX", allergenLists: ["us", "eu"] },
    });
    const [, , width, height] = (await expectAsLaidOut("holiday-spike", "letter", us)).split(" ").map(Number);
    expect([width, height]).toEqual([612, 792]);
  });

  it("the night on which clocks go back: offsets cut nothing off", async () => {
    await expectAsLaidOut("ordinary-day", "a4", undefined, 33);
  });
});
