import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { build } from "../support/built.js";
import { drawInForce, eventually, type Stage, setStage } from "./stage.js";

let stage: Stage;
beforeAll(async () => {
  build();
  stage = await setStage();
  await drawInForce(stage, "ordinary-day", 400);
}, 300_000);
afterAll(async () => {
  await stage?.close();
});

const versions = async (): Promise<Record<string, number>> =>
  ((await stage.api("GET", "/api/days/ordinary-day")) as { body: { versions: Record<string, number> } }).body.versions;

describe("a newcomer's first five minutes", { timeout: 120_000 }, () => {
  it("take a deck out in two clicks, read the changes, accept them, and take it back", async () => {
    const page = await stage.open("today");
    await page.getByRole("button", { name: "Out of service: Deck oven east, deck 2" }).click();
    await page.getByRole("button", { name: "Show the changes" }).click();
    await page.getByRole("heading", { name: "If you accept" }).waitFor({ timeout: 60_000 });
    expect(await page.locator(".change-loads > li").count()).toBeGreaterThan(0);
    expect((await versions()).timetable).toBe(1);
    await page.getByRole("button", { name: "Accept" }).click();
    await eventually(async () => (await versions()).timetable).toBe(2);
    expect((await versions()).happenings).toBe(2);
    await page
      .getByRole("region", { name: "What has happened" })
      .getByText("Deck oven east, deck 2 out of service")
      .waitFor();
    await page.getByRole("button", { name: "Undo" }).click();
    await eventually(async () => (await versions()).timetable).toBe(3);
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });

  it("hold a task at a typed time: the rest is repaired around it", async () => {
    const page = await stage.open("today", { now: "2026-11-26T09:00Z" });
    await page.getByRole("application").focus();
    const form = page.getByRole("form", { name: /^Move the shape/ });
    let allowed = false;
    for (let i = 0; i < 60 && !allowed; i++) {
      await page.keyboard.press("ArrowRight");
      if ((await form.count()) === 0) {
        await page.keyboard.press("ArrowDown");
        continue;
      }
      await form.getByRole("button", { name: "5 minutes later" }).click();
      await form.locator(".note").waitFor();
      allowed =
        (await form.getByRole("button", { name: "Hold it there" }).count()) > 0 &&
        (await form.getByRole("button", { name: "Hold it there" }).isEnabled());
      if (!allowed) {
        await form.getByRole("button", { name: "Leave it" }).click();
        await page.getByRole("application").focus();
      }
    }
    expect(allowed).toBe(true);
    await form.getByRole("button", { name: "Hold it there" }).click();
    await page
      .getByRole("heading", { name: "If you accept" })
      .or(page.getByText("A wish cannot be met"))
      .waitFor({ timeout: 60_000 });
    expect((await page.getByRole("region", { name: "Changes" }).textContent()) ?? "").toMatch(
      /If you accept|Times near it that work|wish cannot be met/,
    );
    await page.context().close();
  });
});
