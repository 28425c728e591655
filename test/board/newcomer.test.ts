import type { Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { build } from "../support/built.js";
import { eventually } from "./eventually.js";
import { drawInForce, findings, type Stage, setStage } from "./stage.js";

let stage: Stage;
beforeAll(async () => {
  build();
  stage = await setStage();
  await drawInForce(stage, "ordinary-day", 400);
}, 300_000);
afterAll(async () => {
  await stage?.close();
});

/** Presses Tab until what has the focus is called so; whoever cannot get there with the keyboard alone fails. */
async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let i = 0; i < 250; i++) {
    await page.keyboard.press("Tab");
    const has = (await page.evaluate(
      "(document.activeElement?.getAttribute('aria-label') ?? document.activeElement?.textContent ?? '').trim()",
    )) as string;
    if (name.test(has)) return;
  }
  throw new Error(`Tab does not come to ${name}`);
}

const versions = async (): Promise<Record<string, number>> =>
  ((await stage.api("GET", "/api/days/ordinary-day")) as { body: { versions: Record<string, number> } }).body.versions;

describe("a newcomer's first five minutes", { timeout: 120_000 }, () => {
  it("take a deck out, read the changes, accept them, take it back, go to the sheets: with the keyboard alone", async () => {
    const page = await stage.open("today");
    await tabTo(page, /^Out of service: Deck oven east, deck 2$/);
    await page.keyboard.press("Enter");
    await page.getByRole("heading", { name: "Deck oven east, deck 2 out of service" }).waitFor();
    expect(await findings(page)).toEqual([]);
    await tabTo(page, /^Show the changes$/);
    await page.keyboard.press("Enter");
    await page.getByRole("heading", { name: "If you accept" }).waitFor({ timeout: 60_000 });
    expect(await page.locator(".change-loads > li").count()).toBeGreaterThan(0);
    expect((await versions()).timetable).toBe(1);
    expect(await findings(page)).toEqual([]);
    await tabTo(page, /^Accept$/);
    await page.keyboard.press("Enter");
    await eventually(async () => (await versions()).timetable).toBe(2);
    expect((await versions()).happenings).toBe(2);
    await page
      .getByRole("region", { name: "What has happened" })
      .getByText("Deck oven east, deck 2 out of service")
      .waitFor();
    await tabTo(page, /^Undo$/);
    await page.keyboard.press("Enter");
    await eventually(async () => (await versions()).timetable).toBe(3);
    await tabTo(page, /^Sheets$/);
    await page.keyboard.press("Enter");
    await page.getByRole("heading", { name: "Sheets" }).waitFor();
    await tabTo(page, /^Print/);
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });

  it("read why an order is short or late when a kettle fails in the night, and what was tried to help it", async () => {
    const page = await stage.open("today", { now: "2026-11-27T03:00Z" });
    await page.getByRole("button", { name: "Out of service: Shop kettle" }).click();
    await page.getByRole("button", { name: "until further notice" }).click();
    await page.getByRole("button", { name: "Show the changes" }).click();
    const card = page.getByRole("region", { name: "Changes" });
    await card.getByRole("heading", { name: "Whom to tell" }).waitFor({ timeout: 60_000 });
    await card.getByText(/^\d+ changes? (was|were) tried to help late and short orders\.$/).waitFor();
    const worse = card.locator(".tell > li", { has: page.locator(".tag.alarm") });
    expect(await worse.count()).toBeGreaterThan(0);
    const reasons = worse.locator("p, details, ol");
    expect(await reasons.count()).toBeGreaterThan(0);
    expect(await findings(page)).toEqual([]);
    if (process.env.DECKSHELF_SHOTS) await page.screenshot({ path: `${process.env.DECKSHELF_SHOTS}/why.png` });
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
