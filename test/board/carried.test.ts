import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { build } from "../support/built.js";
import { type CarriedMorning, carriedMorning } from "../support/carried.js";
import { eventually } from "./eventually.js";
import { findings, type Stage, setStage } from "./stage.js";

let stage: Stage;
let morning: CarriedMorning;
let now: string;
beforeAll(async () => {
  build();
  morning = await carriedMorning();
  now = new Date(Date.parse(morning.bake[0].end) + 60_000).toISOString();
  stage = await setStage();
  const { inForce: _, ...documents } = morning.day;
  const day = await stage.api("GET", "/api/days/ordinary-day");
  const body = { ...documents, timetable: morning.before, happenings: { format: "happenings/1", happenings: [] } };
  const put = await stage.api("PUT", "/api/days/ordinary-day", body, { "if-match": day.etag });
  expect(put.status, JSON.stringify(put.body)).toBe(200);
}, 300_000);
afterAll(async () => {
  await stage?.close();
});

/** "Deck oven east", "deck-3" */
function deckOf(unit: string): { oven: string; station: string; deck: string } {
  const [site, id, deck] = unit.split("/") as [string, string, string];
  const oven = morning.day.network.sites.find((one) => one.id === site)!.ovens.find((one) => one.id === id)!;
  return { oven: oven.name, station: `${site}/${id}`, deck: deck.replace("-", " ") };
}

describe("a deck that fails under half-baked pans", { timeout: 120_000 }, () => {
  it("is in the planner's list before accepting: carry from where to where, and what is left", async () => {
    const [cut] = morning.bake;
    const { station, deck } = deckOf(cut.unit!);
    const load = morning.before.loads.find(({ id }) => id === cut.load)!;
    const screen = await stage.open(`kitchen/${station}`, { now, viewport: { width: 1024, height: 768 } });
    const card = screen.locator(".big-card").filter({ hasText: load.id });
    await card.getByRole("button", { name: "Trouble" }).click();
    await screen.getByRole("button", { name: "Not known" }).click();
    await screen.getByRole("list", { name: "Out of order" }).getByText(deck).waitFor();
    await screen.context().close();

    const page = await stage.open("today", { now });
    await page.getByRole("button", { name: "Work it in" }).click();
    const carry = page.getByRole("region", { name: "Changes" }).locator(".is-carry").filter({ hasText: deck });
    await carry.first().waitFor({ timeout: 60_000 });
    const text = (await carry.first().textContent())!;
    expect(text).toMatch(
      /^Carry half-baked from .*, deck \d to .*, deck \d: (at|out \d\d:\d\d, in) \d\d:\d\d, \d+ min left, done \d\d:\d\d$/,
    );
    await page.getByText("What is carried half-baked is hot. Decks and pans burn: dry mitts").waitFor();
    expect(await findings(page)).toEqual([]);
    await page.context().close();
  });

  it("is put in force", async () => {
    const day = await stage.api("GET", "/api/days/ordinary-day");
    const body = { timetable: morning.after, happenings: morning.day.happenings };
    const put = await stage.api("PUT", "/api/days/ordinary-day", body, { "if-match": day.etag });
    expect(put.status, JSON.stringify(put.body)).toBe(200);
  });

  it("is one card with a caution on the ovens' screens, which say what is out of order", async () => {
    const [cut, rest] = morning.bake;
    const load = morning.after.loads.find(({ id }) => id === rest.load)!;
    for (const unit of [cut.unit!, rest.unit!]) {
      const page = await stage.open(`kitchen/${deckOf(unit).station}`, { now, viewport: { width: 1024, height: 768 } });
      const own = page.locator(".big-card, .next-line").filter({ hasText: load.id });
      await eventually(() => own.count()).toBe(1);
      const text = (await own.textContent())!;
      expect(text).toContain("Carry");
      expect(text).toMatch(/half-baked, \d+ min more/);
      expect(text).toContain("dry mitts");
      if (unit === cut.unit) {
        const out = page.getByRole("list", { name: "Out of order" });
        expect(await out.textContent()).toContain(`${deckOf(unit).deck} is out of order until further notice`);
      }
      expect(await findings(page)).toEqual([]);
      await page.context().close();
    }
  });

  it("is drawn as out of order, with the door at the bottom and position 1 beside it, as on paper", async () => {
    const page = await stage.open("fridge-and-ovens", { now });
    const { oven, deck } = deckOf(morning.bake[0].unit!);
    const card = page.locator(".unit-card").filter({ has: page.getByRole("heading", { name: oven }) });
    const figure = card.locator("figure.deck").filter({ hasText: deck });
    await figure.getByText("out of order until further notice").waitFor();
    const at = async (text: string): Promise<number> =>
      (await figure.locator("text.position").getByText(text, { exact: true }).boundingBox())!.y;
    expect(await at("1")).toBeGreaterThan(await at("3"));
    const door = (await figure.getByText("door", { exact: true }).boundingBox())!.y;
    expect(door).toBeGreaterThan(await at("1"));
    await page.context().close();
  });
});
