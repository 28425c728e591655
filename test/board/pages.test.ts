import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Catalogue } from "../../schemas/index.js";
import { shortNames } from "../../services/board/logic/names.js";
import { build } from "../support/built.js";
import { drawInForce, findings, PAGES, type Stage, setStage } from "./stage.js";

let stage: Stage;
beforeAll(async () => {
  build();
  stage = await setStage();
  await drawInForce(stage, "ordinary-day", 200);
}, 180_000);
afterAll(async () => {
  await stage?.close();
});

describe("every page", { timeout: 60_000 }, () => {
  for (const light of ["light", "dark"] as const)
    it(`has nothing that axe-core calls serious, in ${light} colours, and nothing to complain of`, async () => {
      const page = await stage.open("today", { colorScheme: light });
      for (const name of [...PAGES, "kitchen/weir-yard/oven-1"]) {
        await page.goto(`${page.url().split("#")[0]}#/${name}`);
        await page.waitForSelector("main h1");
        expect(await findings(page), name).toEqual([]);
      }
      expect(page.complaints).toEqual([]);
      await page.context().close();
    });

  it("fits its width from a phone to a large screen: nothing is cut off sideways", async () => {
    const page = await stage.open("today");
    for (const width of [390, 900, 1920]) {
      await page.setViewportSize({ width, height: 844 });
      for (const name of [...PAGES, "kitchen/weir-yard/kettle-1"]) {
        await page.goto(`${page.url().split("#")[0]}#/${name}`);
        await page.waitForSelector("main h1");
        const over = await page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth");
        expect(over, `${name} at ${width}`).toBeLessThanOrEqual(0);
      }
    }
    await page.context().close();
  });

  it("says how full in numbers and the colours in words, and writes full where a strip has no room left", async () => {
    const page = await stage.open("what-if");
    const cells = (await page.evaluate(
      `[...document.querySelectorAll("td.full")].map((cell) => [cell.className, cell.textContent])`,
    )) as [string, string][];
    expect(cells.length).toBeGreaterThan(200);
    const shown = cells.filter(([name]) => /full-[1-4]/.test(name));
    expect(shown.length).toBeGreaterThan(20);
    for (const [name, text] of shown) expect(text, name).toMatch(/^\d+%$/);
    const steps = page.getByRole("list", { name: "What the colours mean" });
    expect(await steps.textContent()).toMatch(/free.*under 40 %.*tight.*full.*nobody there/);
    await page.context().close();
  });

  it("writes on long bars of the whole day what is in them, not only which dough", async () => {
    const page = await stage.open("set-up");
    await page.evaluate(`{
      globalThis.texts = new Set();
      const own = CanvasRenderingContext2D.prototype.fillText;
      CanvasRenderingContext2D.prototype.fillText = function (text, ...rest) {
        globalThis.texts.add(text);
        own.call(this, text, ...rest);
      };
    }`);
    await page.setViewportSize({ width: 1440, height: 2400 });
    await page.getByRole("link", { name: "Today" }).click();
    await page.getByRole("application").waitFor();
    await page.waitForTimeout(500);
    const texts = (await page.evaluate("[...globalThis.texts]")) as string[];
    const { body: catalogue } = (await stage.api("GET", "/api/days/ordinary-day/documents/catalogue")) as {
      body: Catalogue;
    };
    const names = catalogue.products.flatMap(({ name }) => [name, ...shortNames(name)]);
    // Bars that say which product: of breads that bake for half an hour there are several.
    const said = names.filter((name) => name.length > 2 && texts.some((text) => text.endsWith(name)));
    expect(said.length).toBeGreaterThan(3);
    expect(texts).toContain("full");
    await page.context().close();
  });

  it("keeps its content security policy: no inline style or script gets through", async () => {
    const page = await stage.open("today");
    const answer = await page.request.get(stage.server.url);
    expect(answer.headers()["content-security-policy"]).toMatch(/script-src 'self';style-src 'self'/);
    expect(await answer.text()).not.toMatch(/<style|style=|<script(?![^>]*src=)/);
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });
});
