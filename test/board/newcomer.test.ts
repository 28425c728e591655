import { mkdir, mkdtemp, readFile, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Download, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments } from "../../schemas/index.js";
import { filesInZip } from "../../services/board/logic/zip.js";
import { readDayFolder } from "../../services/day-folder.js";
import { build } from "../support/built.js";
import { smallFolder } from "../support/small-day.js";
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
    const form = page.getByRole("form", { name: /^Move the / });
    let allowed = false;
    // Which task may be five minutes later depends on the plan: along each row some steps, and down.
    for (let i = 0; i < 90 && !allowed; i++) {
      await page.keyboard.press(i % 4 === 3 ? "ArrowDown" : "ArrowRight");
      if ((await form.count()) === 0) continue;
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

const dayIds = async (): Promise<string[]> =>
  ((await stage.api("GET", "/api/days")) as { body: { days: { id: string }[] } }).body.days.map(({ id }) => id);
const documentsOf = async (day: string): Promise<DayDocuments & { timetable?: unknown }> =>
  ((await stage.api("GET", `/api/days/${day}/documents`)) as { body: { documents: DayDocuments } }).body.documents;

async function shot(page: Page, name: string): Promise<void> {
  if (process.env.DECKSHELF_SHOTS) await page.screenshot({ path: `${process.env.DECKSHELF_SHOTS}/${name}.png` });
}

describe("a planner's own kitchen", { timeout: 120_000 }, () => {
  it("comes in as a folder, all of it or nothing, is drawn up, and goes out as the same folder", async () => {
    const folder = await smallFolder(await mkdtemp(join(tmpdir(), "deckshelf-own-")));
    const at = (name: string): string => join(folder, name);
    const network = await readFile(at("network.json"), "utf8");
    const orders = await readFile(at("orders.csv"), "utf8");
    await writeFile(at("network.json"), network.replace('"timeZone"', '"timeZome"'));
    await writeFile(at("orders.csv"), orders.replace(/^(line-\d+,[a-z-]+),\d+/m, "$1,many"));
    await writeFile(at("notes.txt"), "flour is dear");
    const page = await stage.open("set-up");
    await page.getByRole("button", { name: "Import files" }).click();
    await page.getByLabel("Folder of a day").setInputFiles(folder);
    await page.getByText("not read: no part of a day").waitFor();
    expect(await page.getByLabel("Kept as").inputValue()).toBe("small-ordinary-day");
    await page.getByLabel("Kept as").fill("own");
    await page.getByRole("button", { name: "Check and take" }).click();
    const alarm = page.getByRole("alert");
    await alarm.waitFor();
    const told = (await alarm.textContent()) ?? "";
    expect(told).toMatch(/^3 things are wrong in the documents; nothing was stored/);
    expect(told).toMatch(/network\.json 2\/sites\/0\/timeZone.*\/sites\/0\/timeZome.*orders\.csv 1line 2, column 3/);
    expect(await dayIds()).not.toContain("own");
    expect(await findings(page)).toEqual([]);
    await shot(page, "import-faults");

    // The mended ones are dropped on the page; the others are still there.
    const drop = await page.evaluateHandle(
      `(() => { const data = new DataTransfer();
        for (const [name, text] of ${JSON.stringify([
          ["network.json", network],
          ["orders.csv", orders],
        ])}) data.items.add(new File([text], name));
        return data; })()`,
    );
    await page.locator("main").dispatchEvent("drop", { dataTransfer: drop });
    await alarm.waitFor({ state: "detached" });
    await page.getByRole("button", { name: "Check and take" }).click();
    await page.getByRole("heading", { name: "No timetable yet" }).waitFor();
    expect(await page.getByLabel("Day", { exact: true }).inputValue()).toBe("own");
    await page.getByLabel("Search for").selectOption("5");
    await page.getByRole("button", { name: "Draw up" }).click();
    await page.getByRole("application").waitFor({ timeout: 60_000 });
    await eventually(async () => (await documentsOf("own")).timetable !== undefined).toBe(true);
    // Also a first timetable can be taken back.
    await page.getByRole("button", { name: "Undo" }).click();
    await page.getByRole("heading", { name: "No timetable yet" }).waitFor();
    await page.getByRole("button", { name: "Redo" }).click();
    await page.getByRole("application").waitFor();

    const given: Download[] = [];
    page.on("download", (download) => given.push(download));
    await page.goto(`${page.url().split("#")[0]}#/set-up`);
    await page.getByLabel("Export").selectOption("everything");
    await eventually(() => given.length).toBe(1);
    expect(given[0]!.suggestedFilename()).toBe("own.zip");
    const place = await mkdtemp(join(tmpdir(), "deckshelf-out-"));
    const zip = join(place, "own.zip");
    await given[0]!.saveAs(zip);
    const out = join(place, "own");
    await mkdir(out);
    for (const { name, bytes } of filesInZip(await readFile(zip))) await writeFile(join(out, name), bytes);
    const read = await readDayFolder(out);
    if ("issues" in read) throw new Error(JSON.stringify(read.issues));
    const { inForce, ...day } = read.day;
    expect({ ...day, timetable: inForce }).toEqual(await documentsOf("own"));
    // And in again, in place of what the day has, without its timetable; all of it can be taken back.
    const versionsOfOwn = async (): Promise<Record<string, number>> =>
      ((await stage.api("GET", "/api/days/own")) as { body: { versions: Record<string, number> } }).body.versions;
    await page.getByRole("button", { name: "Import files" }).click();
    await page.getByLabel("Files of a day").setInputFiles(zip);
    expect(await page.getByLabel("Kept as").inputValue()).toBe("own-2");
    await page.getByLabel("in place of what own has").check();
    await page.getByRole("button", { name: "Leave out timetable-in-force.json" }).click();
    await page.getByText("Its timetable is then no longer in force.").waitFor();
    await shot(page, "import-again");
    await page.getByRole("button", { name: "Check and take" }).click();
    await page.getByText("Taken into own: network.json").waitFor();
    expect(await versionsOfOwn()).toEqual({ network: 2, catalogue: 2, orders: 2, happenings: 2, settings: 2 });
    await page.getByRole("button", { name: "Undo" }).click();
    await eventually(versionsOfOwn).toMatchObject({ network: 3, orders: 3, timetable: 3 });
    // The browser's own word about the refusal.
    expect(page.complaints).toEqual([expect.stringContaining("422")]);
    await page.context().close();
  });

  it("has another day: orders are typed before its first timetable, and another with the orders of one", async () => {
    const page = await stage.open("today");
    await page.getByLabel("Day", { exact: true }).selectOption("ordinary-day");
    await page.getByRole("button", { name: "New day" }).click();
    const dialog = page.getByRole("dialog", { name: "New day" });
    expect(await dialog.getByLabel("Date").inputValue()).toBe("2026-11-28");
    await dialog.getByLabel("Date").fill("2026-12-04");
    await dialog.getByText("from Thu 3 Dec 12:00 to Fri 4 Dec 14:00").waitFor();
    expect(await findings(page)).toEqual([]);
    await shot(page, "new-day");
    await dialog.getByRole("button", { name: "Begin the day" }).click();
    await page.getByText("No line yet.").waitFor();
    expect(await page.getByLabel("Day", { exact: true }).locator("option:checked").textContent()).toBe(
      "Fri 4 Dec 2026",
    );
    await page.getByRole("button", { name: "New line" }).click();
    await page.getByLabel("Pieces").fill("24");
    await page.getByRole("button", { name: "Add to the list" }).click();
    await page.getByText("Not saved yet: 1 new.").waitFor();
    // What is typed waits while another page is looked at.
    await page.getByRole("link", { name: "Today" }).click();
    await page.getByText("No orders yet.").waitFor();
    await page.getByRole("link", { name: "Orders", exact: true }).click();
    await page.locator(".order-row").getByText("not drawn up yet").waitFor();
    expect(await findings(page)).toEqual([]);
    await shot(page, "orders-first");
    await page.getByLabel("Search for").selectOption("5");
    await page.getByRole("button", { name: "Save and draw up" }).click();
    await page.getByRole("application").waitFor({ timeout: 60_000 });
    const first = await documentsOf("2026-12-04");
    expect(first.orders.lines).toMatchObject([{ pieces: 24, due: "2026-12-04T13:00:00+00:00" }]);
    expect(first.settings).toMatchObject({ name: "Fri 4 Dec 2026", window: { from: "2026-12-03T12:00" } });

    await page.getByRole("button", { name: "New day" }).click();
    await dialog.getByLabel("Orders").selectOption("ordinary-day");
    await dialog.getByRole("button", { name: "Begin the day" }).click();
    await page.getByText(/84 lines, 2,390 pieces/).waitFor();
    // What was done on the other day is not this one's to take back.
    expect(await page.getByRole("button", { name: "Undo" }).count()).toBe(0);
    const { orders } = await documentsOf("2026-12-05");
    expect(orders.lines[0]!.due).toBe("2026-12-05T06:00");
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });
});
