import { afterAll, beforeAll, describe, expect, it } from "vitest";
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

  it("keeps its content security policy: no inline style or script gets through", async () => {
    const page = await stage.open("today");
    const answer = await page.request.get(stage.server.url);
    expect(answer.headers()["content-security-policy"]).toMatch(/script-src 'self';style-src 'self'/);
    expect(await answer.text()).not.toMatch(/<style|style=|<script(?![^>]*src=)/);
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });
});
