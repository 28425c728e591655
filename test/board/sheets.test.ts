import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Timetable } from "../../schemas/index.js";
import { build } from "../support/built.js";
import { drawInForce, type Stage, setStage } from "./stage.js";

let stage: Stage;
let timetable: Timetable;
beforeAll(async () => {
  build();
  stage = await setStage();
  timetable = await drawInForce(stage, "ordinary-day", 200);
}, 300_000);
afterAll(async () => {
  await stage?.close();
});

describe("sheets", { timeout: 60_000 }, () => {
  it("the oven sheet has every load of its decks, with cautions, and prints as pages without the board around it", async () => {
    const page = await stage.open("sheets");
    const paper = page.locator(".paper");
    const text = (await paper.locator(".page").allTextContents()).join(" ");
    const baked = timetable.tasks.filter((task) => task.does === "bake" && task.site === "weir-yard");
    expect(baked.length).toBeGreaterThan(10);
    for (const task of baked) expect(text, task.load).toContain(task.load!);
    expect(text).toContain("Local food code, equipment manuals and licensed practice come first.");
    await page.emulateMedia({ media: "print" });
    expect(await page.locator(".head").isVisible()).toBe(false);
    expect(await page.getByRole("button", { name: /^Print/ }).isVisible()).toBe(false);
    expect(await paper.locator("h1").first().isVisible()).toBe(true);
    const sheets = await paper.locator(".page").count();
    const pdf = (await page.pdf({ format: "A4", preferCSSPageSize: true })).toString("latin1");
    // Each laid out page is one printed page: the page objects of the PDF (ISO 32000-1, 7.7.3.3).
    expect(pdf.match(/\/Type\s*\/Page\b/g)?.length).toBe(sheets);
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });
});
