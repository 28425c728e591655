import { readFile } from "node:fs/promises";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Scenario } from "../../schemas/index.js";
import { validateDocument } from "../../schemas/validate.js";
import { readDayFolder } from "../../services/day-folder.js";
import { applyScenario } from "../../solver/scenario/index.js";
import { build } from "../support/built.js";
import { eventually } from "./eventually.js";
import { findings, type Stage, setStage } from "./stage.js";

const LINES = 6;

/** More of one bread than the only deck of a small kitchen can bake by eight. */
async function spikeDay(): Promise<DayDocuments> {
  const read = await readDayFolder("services/demo/ordinary-day");
  if ("issues" in read) throw new Error(JSON.stringify(read.issues));
  const { network, ...day } = read.day;
  const [site] = network.sites;
  const [oven] = site!.ovens;
  const lines = Array.from({ length: LINES }, (_, i) => ({
    id: `spike-${i + 1}`,
    product: "baton",
    pieces: 40,
    site: site!.id,
    due: "2026-11-27T08:00",
  }));
  return {
    ...day,
    settings: { ...day.settings, name: "A spike" },
    orders: { format: "orders/1", lines },
    network: { ...network, vanRuns: [], sites: [{ ...site!, ovens: [{ ...oven!, decks: [oven!.decks[0]!] }] }] },
  };
}

let stage: Stage;
let spike: DayDocuments;
beforeAll(async () => {
  build();
  stage = await setStage();
  spike = await spikeDay();
  const made = await stage.api("PUT", "/api/days/spike", spike, { "if-none-match": "*" });
  expect(made.status, JSON.stringify(made.body)).toBe(201);
}, 180_000);
afterAll(async () => {
  await stage?.close();
});

const timetableVersion = async (): Promise<number | undefined> =>
  ((await stage.api("GET", "/api/days/spike")) as { body: { versions: { timetable?: number } } }).body.versions
    .timetable;

describe("a spike that does not fit", { timeout: 180_000 }, () => {
  it("is drawn up: the first timetable is seen while the search goes on, and is in force when it is stopped", async () => {
    const page = await stage.open("today");
    await page.getByLabel("Day", { exact: true }).selectOption("spike");
    await page.getByRole("heading", { name: "No timetable yet" }).waitFor();
    await page.getByLabel("Search for").selectOption("120");
    await page.getByRole("button", { name: "Draw up", exact: true }).click();
    await page.getByText(/is shown\. None is in force yet/).waitFor({ timeout: 60_000 });
    expect(await page.locator(".figure b").first().textContent()).toMatch(/^\d of 6$/);
    await page.locator("canvas").waitFor();
    expect(await timetableVersion()).toBeUndefined();
    await page.getByRole("button", { name: "Stop and keep" }).click();
    await page.getByRole("button", { name: "Draw up again" }).waitFor({ timeout: 30_000 });
    expect(await timetableVersion()).toBe(1);
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });

  it("is shown with what would make it fit; one click tries that beside the day, and it does better", async () => {
    const page = await stage.open("today");
    await page.getByLabel("Day", { exact: true }).selectOption("spike");
    await page.getByRole("heading", { name: /^Late or short/ }).waitFor();
    expect(await page.locator(".want").count()).toBeGreaterThan(0);

    await page.getByRole("link", { name: "What if" }).click();
    const asItIs = page.getByRole("article", { name: "As it is" });
    const onTime = async (of: typeof asItIs): Promise<number> =>
      Number.parseInt((await of.locator("dd").first().locator("b").textContent()) ?? "", 10);
    const before = await onTime(asItIs);
    expect(before).toBeLessThan(LINES);

    const remedies = page.getByRole("region", { name: "What would make it fit" });
    await remedies.getByRole("button", { name: "Try remedies" }).click();
    await remedies.getByText(/pieces would be short or late/).waitFor({ timeout: 90_000 });
    // The network program proves it: no plan whatever has fewer.
    expect(await remedies.textContent()).toMatch(/Whoever plans it: at least \d+/);
    // Those that fit come first, with what they cost.
    expect(await remedies.getByRole("listitem").first().textContent()).toContain("everything fits");
    const deck = remedies
      .getByRole("listitem")
      .filter({ hasText: /^one more like Deck oven east.*commissaryeverything/ });
    expect(await deck.textContent()).toMatch(/everything fits[1-9]\d*\.00 EUR/);
    await deck.getByRole("button", { name: "Try beside the day" }).click();

    const tried = page.getByRole("article", { name: /^One more like Deck oven east/ });
    await eventually(async () => (await onTime(tried)) || 0).toBe(LINES);
    expect(await tried.locator("dd").first().textContent()).toContain(`+${LINES - before} better`);

    await tried.getByRole("progressbar").waitFor({ state: "detached", timeout: 60_000 });

    expect(await findings(page)).toEqual([]);

    // The same scenario goes on: people, a van that there is not, and out of the page as one document.
    await tried.getByRole("button", { name: "Imagine something more" }).click();
    await tried.getByRole("combobox", { name: /^Imagine/ }).selectOption({ label: "more or fewer people" });
    expect(await tried.getByRole("combobox", { name: /^Imagine/ }).textContent()).not.toContain("van");
    await tried.getByLabel("People more (− for fewer)").fill("-1");
    await tried.getByRole("button", { name: "Add", exact: true }).click();
    await tried.getByText("Drawn up before the last change here.").waitFor();
    await tried.getByRole("button", { name: "Draw up again" }).click();
    await tried.getByText("Drawn up before the last change here.").waitFor({ state: "detached", timeout: 60_000 });
    const [file] = await Promise.all([
      page.waitForEvent("download"),
      tried.getByRole("button", { name: "Save as a file" }).click(),
    ]);
    const document = JSON.parse(await readFile((await file.path())!, "utf8")) as Scenario;
    expect(document.changes.map(({ kind }) => kind)).toEqual(["another-unit", "crew-size"]);
    expect(validateDocument("scenario", document)).toEqual([]);
    expect("day" in applyScenario(spike, document)).toBe(true);

    // The balance of the same day: a wish, what it costs, and the timetable that follows it as a proposal.
    await page.getByRole("link", { name: "Balance" }).click();
    await page.getByRole("button", { name: "Add a wish" }).click();
    await page.getByRole("combobox", { name: /^Product/ }).selectOption({ label: "Baton" });
    await page.getByRole("button", { name: "Add", exact: true }).click();
    await page.getByRole("button", { name: "Balance", exact: true }).click();
    await page.getByText("costs nothing").waitFor({ timeout: 60_000 });
    await page.getByText("Nothing. Every site makes its own.").waitFor();
    expect(await findings(page)).toEqual([]);
    await page.getByRole("button", { name: "Propose this timetable" }).click();
    await page.getByRole("heading", { name: "If you accept" }).waitFor();
    await page.getByRole("button", { name: "Discard" }).click();

    // Nothing of it touched the day.
    const { body } = (await stage.api("GET", "/api/days/spike")) as { body: { change: number } };
    expect(body.change).toBe(2);
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });
});
