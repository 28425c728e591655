import type { Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Network, Timetable } from "../../schemas/index.js";
import { drawInForce, PAGES, type Stage, setStage } from "../board/stage.js";
import { build } from "../support/built.js";

let stage: Stage;
let timetable: Timetable;
beforeAll(async () => {
  build();
  stage = await setStage();
  timetable = await drawInForce(stage, "ordinary-day", 200);
}, 180_000);
afterAll(async () => {
  await stage?.close();
});

interface Printed {
  /** Width and height of every page, pt. */
  readonly sizes: readonly (readonly [number, number])[];
  /** What `look` said of the page while it was printed. */
  readonly seen: unknown;
}

/** Prints a page as the browser does, background colours left out; and looks at the same with the paper's width on the screen. */
async function printed(page: Page, look: string, widthMm = 190): Promise<Printed> {
  const pdf = (await page.pdf({ format: "A4" })).toString("latin1");
  const sizes = [...pdf.matchAll(/\/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)/g)].map(
    ([, width, height]) => [Math.round(Number(width)), Math.round(Number(height))] as const,
  );
  const before = page.viewportSize()!;
  await page.setViewportSize({ width: Math.floor(widthMm * (96 / 25.4)), height: 1040 });
  await page.emulateMedia({ media: "print" });
  await page.evaluate("dispatchEvent(new Event('beforeprint'))");
  const seen = await page.evaluate(look);
  await page.evaluate("dispatchEvent(new Event('afterprint'))");
  await page.emulateMedia({ media: null });
  await page.setViewportSize(before);
  return { sizes, seen };
}

/** Elements with dark grounds, and boxes that are cut off where they would have to be scrolled. */
const LOOK = `(() => {
  const lightness = (colour) => {
    const [r, g, b, a = 1] = (colour.match(/[\\d.]+/g) ?? [255, 255, 255]).map(Number);
    if (colour.startsWith("ok")) return r;
    return a === 0 ? 1 : (0.3 * r + 0.6 * g + 0.1 * b) / (colour.startsWith("color(") ? 1 : 255);
  };
  const shown = [...document.querySelectorAll("main, main *")].filter((each) => each.getClientRects().length > 0);
  return {
    ink: lightness(getComputedStyle(document.body).color),
    dark: shown.filter((each) => !(each instanceof SVGElement) && lightness(getComputedStyle(each).backgroundColor) < 0.25)
      .map((each) => each.className),
    scrolled: shown.filter((each) => /auto|scroll|hidden/.test(getComputedStyle(each).overflowY) && each.scrollHeight > each.clientHeight + 2)
      .map((each) => each.className),
    buttons: shown.filter((each) => each.matches("button.btn:not([aria-pressed])")).map((each) => each.textContent),
  };
})()`;

describe("printing the board", { timeout: 120_000 }, () => {
  for (const colorScheme of ["light", "dark"] as const)
    it(`prints every page light and whole from ${colorScheme} colours`, async () => {
      const page = await stage.open("today", { colorScheme });
      for (const name of [...PAGES, "kitchen/weir-yard/oven-1"]) {
        await page.goto(`${page.url().split("#")[0]}#/${name}`);
        await page.waitForSelector("main h1");
        const { sizes, seen } = await printed(page, LOOK);
        expect(sizes.length, name).toBeGreaterThan(0);
        expect((seen as { ink: number }).ink, `${name}: ink`).toBeLessThan(0.25);
        expect(seen, name).toMatchObject({ dark: [], scrolled: [], buttons: [] });
      }
      expect(await page.evaluate("document.documentElement.dataset.light")).toBe(colorScheme);
      expect(page.complaints).toEqual([]);
      await page.context().close();
    });

  it("prints all order lines with all their columns, not only those in view", async () => {
    const page = await stage.open("orders", { viewport: { width: 1280, height: 500 } });
    expect(await page.locator(".order-row").count()).toBeLessThan(50);
    const { sizes, seen } = await printed(
      page,
      `[...document.querySelectorAll(".order-row")].map((row) => [...row.cells].filter((cell) => cell.getClientRects().length > 0).length)`,
    );
    expect(seen).toEqual(new Array(84).fill(8));
    // Rows of 20 mm at most.
    expect(sizes.length).toBeGreaterThan(2);
    expect(await page.locator(".order-row").count()).toBeLessThan(50);
    await page.context().close();
  });

  it("prints the whole timetable over pages on their side: every site that bakes, at every heat", async () => {
    const page = await stage.open("today");
    const { body: network } = (await stage.api("GET", "/api/days/ordinary-day/documents/network")) as {
      body: Network;
    };
    const { sizes, seen } = await printed(
      page,
      `[...document.querySelectorAll(".printed-page > svg")].map((svg) => {
        const { width, height } = svg.getBoundingClientRect();
        const texts = [...svg.querySelectorAll("text")];
        return {
          width, height,
          least: Math.min(...texts.map((text) => Number(text.getAttribute("font-size")) * width / 1000)),
          texts: texts.map((text) => text.textContent),
        };
      })`,
      277,
    );
    const pages = seen as { width: number; height: number; least: number; texts: string[] }[];
    // Three sites over 26 hours.
    expect(pages.length).toBeGreaterThan(4);
    expect(sizes.filter(([width, height]) => width > height).length).toBe(pages.length);
    for (const { width, height, least } of pages) {
      expect(height).toBeLessThan(190 * (96 / 25.4));
      expect(width).toBeGreaterThan(900);
      // 7 pt.
      expect(least).toBeGreaterThan(7 * (96 / 72));
    }
    const all = pages.flatMap(({ texts }) => texts);
    const bakes = timetable.tasks.filter(({ does }) => does === "bake");
    const sites = new Map(network.sites.map(({ id, name }) => [id, name]));
    for (const { unit } of bakes) expect(all).toContain(sites.get(unit!.split("/")[0]!));
    const temperatures = new Set(bakes.flatMap(({ tempC }) => (tempC === undefined ? [] : [`${tempC}°`])));
    for (const temperature of temperatures) expect(all).toContain(temperature);
    await page.context().close();
  });
});
