import type { Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { DayDocuments, Timetable } from "../../schemas/index.js";
import { build } from "../support/built.js";
import { eventually } from "./eventually.js";
import { drawInForce, drawUp, type Stage, setStage } from "./stage.js";

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

const onTime = (): string =>
  `${timetable.orders.filter((order) => order.state === "on-time").length} of ${timetable.orders.length}`;

/** Goes with the arrow keys to a task that can be moved. */
async function pickWorked(page: Page): Promise<void> {
  await page.getByRole("application").focus();
  for (let i = 0; i < 40; i++) {
    await page.keyboard.press(i % 4 === 3 ? "ArrowRight" : "ArrowDown");
    if ((await page.getByRole("form", { name: /^Move the bake/ }).count()) > 0) return;
  }
  throw new Error("no bake was reached with the arrow keys");
}

describe("the timetable", { timeout: 180_000 }, () => {
  it("shows at once how the day goes, and every station of every site", async () => {
    const page = await stage.open("today");
    await eventually(() => page.locator(".figure b").first().textContent()).toBe(onTime());
    const { network } = (
      (await stage.api("GET", "/api/days/ordinary-day/documents")) as { body: { documents: DayDocuments } }
    ).body.documents;
    const heads = (await page.getByRole("list", { name: "Stations" }).textContent()) ?? "";
    for (const site of network.sites) {
      expect(heads).toContain(site.name);
      for (const unit of [...site.mixers, ...site.fridges, ...site.benches, ...site.kettles, ...site.ovens])
        expect(heads).toContain(unit.name);
    }
    await page.context().close();
  });

  it("is worked with keys alone: zoom, pan, from task to task, a task's whole way", async () => {
    const page = await stage.open("today");
    await page.getByRole("application").focus();
    await page.keyboard.press("+");
    await page.keyboard.press("Shift+ArrowRight");
    await page.keyboard.press("n");
    await pickWorked(page);
    const spoken = await page.locator("[aria-live=polite]").textContent();
    expect(spoken).toMatch(/^Bake: \d+ .* to \d\d:\d\d/);
    await page.keyboard.press("Enter");
    expect(await page.evaluate("document.activeElement.hasAttribute('data-side')")).toBe(true);
    const steps = await page.locator(".way-body b").allTextContents();
    expect(steps[0]).toBe("Mix");
    expect(steps).toContain("Bake");
    await page.context().close();
  });

  it("refuses a typed time that breaks a rule, names the rule, and changes nothing", async () => {
    const page = await stage.open("today");
    await pickWorked(page);
    const form = page.getByRole("form", { name: /^Move the bake/ });
    await form.locator("input").fill("12:30");
    await form.getByText("Not allowed.").waitFor();
    expect(await form.locator(".objections .tag").first().textContent()).toMatch(/^R\d+ /);
    expect(await form.getByRole("button", { name: "Hold it there" }).isDisabled()).toBe(true);
    await form.locator("input").fill("25:99");
    await form.getByText("Give a time of this day").waitFor();
    const { body } = (await stage.api("GET", "/api/days/ordinary-day")) as {
      body: { versions: { timetable: number } };
    };
    expect(body.versions.timetable).toBe(1);
    await page.context().close();
  });

  it("refuses a drag to where the rules do not allow it and says why", async () => {
    const page = await stage.open("today");
    await pickWorked(page);
    await page.keyboard.press("Escape");
    // The first bake of the first deck, found by its times and its row.
    const bake = timetable.tasks.filter((task) => task.unit === "weir-yard/oven-1/deck-1" && task.does === "bake")[0]!;
    const head = page.locator(".row-head", { hasText: "Deck oven east, deck 1" });
    await head.scrollIntoViewIfNeeded();
    const row = (await head.boundingBox())!;
    const canvas = (await page.locator("canvas").boundingBox())!;
    await page.getByRole("button", { name: "Whole day" }).first().click();
    const from = Date.parse(timetable.window.from);
    const x = (ms: number): number =>
      canvas.x + ((ms - from) / (Date.parse(timetable.window.to) - from)) * canvas.width;
    const lane = Math.min(...bake.places!.map((place) => place.position));
    const y = row.y + 4 + (lane - 0.5) * 8.5;
    const middle = x((Date.parse(bake.start) + Date.parse(bake.end)) / 2);
    await page.mouse.move(middle, y);
    await page.mouse.down();
    await page.mouse.move(middle - 100, y, { steps: 6 });
    await page.locator(".note.alarm", { hasText: "Not allowed." }).waitFor();
    await page.mouse.up();
    expect(await page.locator(".objections .tag").first().textContent()).toMatch(/^R\d+ /);
    await page.context().close();
  });

  it("pins a task with a key: it is told, kept when the day is drawn up anew, and let go again", async () => {
    const page = await stage.open("today", { now: "2026-11-26T09:00Z" });
    await pickWorked(page);
    await page.getByRole("application").focus();
    await page.keyboard.press("p");
    const picked = page.getByRole("region", { name: "Picked" });
    await picked.getByRole("button", { name: "Pinned", exact: true }).waitFor();
    await picked.getByText("Stays here, whatever is drawn up or repaired.").waitFor();
    // What is pinned has no fields to move it with.
    expect(await page.getByRole("form", { name: /^Move the bake/ }).count()).toBe(0);
    const { body } = (await stage.api("GET", "/api/days/ordinary-day/documents/happenings")) as {
      body: { happenings: { kind: string; task: string }[] };
    };
    expect(body.happenings.map(({ kind }) => kind)).toEqual(["lock"]);
    const task = (of: Timetable) => of.tasks.find(({ id }) => id === body.happenings[0]!.task);
    const { timetable: anew } = await drawUp(stage, "ordinary-day", 60, 7);
    expect(task(anew)).toEqual(task(timetable));
    expect(anew.tasks).not.toEqual(timetable.tasks);
    const told = page.getByRole("region", { name: "What has happened" });
    await told.getByRole("button", { name: /bake pinned/ }).waitFor();
    await told.getByRole("button", { name: /^Unpin / }).click();
    await picked.getByRole("button", { name: "Pin it here" }).waitFor();
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });

  it("draws up with live progress and the best timetable so far, stops and keeps, and puts nothing in force before it is accepted; undo takes it back", async () => {
    const page = await stage.open("today");
    const picture = async (): Promise<string> => (await page.locator("canvas").screenshot()).toString("base64");
    await eventually(() => page.locator(".figure b").first().textContent()).toBe(onTime());
    const inForce = await picture();
    await page.getByLabel("Search for").selectOption("120");
    await page.getByRole("button", { name: "Draw up again" }).click();
    await page
      .getByText(/cost [\d,.]+/)
      .first()
      .waitFor({ timeout: 90_000 });
    const progress = page.getByRole("region", { name: "Search" });
    await progress.getByText(/is shown\. None is in force yet/).waitFor({ timeout: 60_000 });
    await eventually(picture).not.toBe(inForce);
    // It can be looked at, not changed; and one can look back.
    expect(await page.getByRole("button", { name: /^Out of service/ }).count()).toBe(0);
    await progress.getByRole("button", { name: "As it is now" }).click();
    await eventually(picture).toBe(inForce);
    await progress.getByRole("button", { name: "As it is now" }).click();
    // The page is loaded again: the search goes on, and is taken up.
    await page.reload();
    await progress.getByText(/cost [\d,.]+/).waitFor({ timeout: 90_000 });
    await page.getByRole("button", { name: "Stop and keep" }).click();
    await page.getByRole("heading", { name: "If you accept" }).waitFor({ timeout: 30_000 });
    const version = async (): Promise<number> =>
      ((await stage.api("GET", "/api/days/ordinary-day")) as { body: { versions: { timetable: number } } }).body
        .versions.timetable;
    const before = await version();
    await page.getByRole("button", { name: "Accept" }).click();
    await eventually(version).toBe(before + 1);
    await page.getByRole("button", { name: "Undo" }).click();
    await eventually(version).toBe(before + 2);
    await eventually(() => page.locator(".figure b").first().textContent()).toBe(onTime());
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });
});

describe("orders", { timeout: 60_000 }, () => {
  it("are changed in a form, saved together, and taken back", async () => {
    const page = await stage.open("orders");
    await page.getByLabel("Find").fill("line-001");
    await page.locator(".order-row .linkish").first().click();
    await page.getByLabel("Pieces").fill("77");
    await page.getByRole("button", { name: "Change", exact: true }).click();
    await page.getByText("Not saved yet: 1 changed.").waitFor();
    await page.getByRole("button", { name: "Save the orders" }).click();
    await page.getByText("The timetable was drawn up for other orders").waitFor();
    const pieces = async (): Promise<number> =>
      (
        (await stage.api("GET", "/api/days/ordinary-day/documents/orders")) as {
          body: { lines: { id: string; pieces: number }[] };
        }
      ).body.lines.find((line) => line.id === "line-001")!.pieces;
    expect(await pieces()).toBe(77);
    // The timetable knows nothing of it, and does not say that all is well.
    await page.locator(".pages").getByRole("link", { name: "Today" }).click();
    await page.getByText("1 order line is not in this timetable as ordered now.").waitFor();
    expect(await page.locator(".figures").textContent()).toContain("1not drawn up as ordered");
    expect(await page.getByText("Nothing. Every order is ready").count()).toBe(0);
    await page.getByRole("button", { name: "Undo" }).click();
    await eventually(pieces).not.toBe(77);
    await page.context().close();
  });

  it("say of a bad upload what is wrong, in which line and column, and lose nothing", async () => {
    const page = await stage.open("orders");
    await page.getByLabel("Orders as CSV").setInputFiles({
      name: "orders.csv",
      mimeType: "text/csv",
      buffer: Buffer.from("id,product,pieces,site,due\nline-001,plain-ring,many,weir-yard,2026-11-27T06:00\n"),
    });
    const alarm = page.getByRole("alert");
    await alarm.waitFor();
    expect(await alarm.textContent()).toMatch(/line 2, column 3/);
    expect(await page.locator(".order-row").count()).toBeGreaterThan(5);
    // The mended file has the same name: a browser tells of it only when nothing is chosen any more.
    expect(await page.getByLabel("Orders as CSV").inputValue()).toBe("");
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });

  it("on a tablet brings what is to be decided into view, and begins every page at its top, with all pages to choose from", async () => {
    const page = await stage.open("today", { viewport: { width: 820, height: 1180 } });
    const top = async (selector: string): Promise<number> => (await page.locator(selector).boundingBox())!.y;
    await page.getByRole("button", { name: "Out of service: Deck oven east, deck 2" }).click();
    await page.getByRole("button", { name: "Show the changes" }).click();
    await page.getByRole("heading", { name: "If you accept" }).waitFor({ timeout: 60_000 });
    await eventually(() => top(".changes h2")).toBeLessThan(590);
    await page.getByRole("button", { name: "Accept" }).click();
    await page.getByRole("button", { name: "Undo" }).waitFor();
    await eventually(() => page.evaluate("scrollY")).toBe(0);
    for (const link of await page.locator(".pages a").all()) {
      const { x, width } = (await link.boundingBox())!;
      expect(x + width).toBeLessThanOrEqual(820);
    }
    const [undo, redo] = [await top(".undo button >> nth=0"), await top(".undo button >> nth=1")];
    expect(undo).toBeGreaterThanOrEqual(0);
    expect(redo).toBe(undo);
    await page.evaluate("scrollTo(0, document.documentElement.scrollHeight)");
    expect(await page.evaluate("scrollY")).toBeGreaterThan(60);
    await page.evaluate("document.querySelector('.pages a[href$=set-up]').click()");
    await page.getByRole("heading", { name: "Set-up" }).waitFor();
    await eventually(() => page.evaluate("scrollY")).toBe(0);
    await page.getByRole("button", { name: "Undo" }).click();
    await page.getByRole("button", { name: "Redo" }).and(page.locator(":enabled")).waitFor();
    await page.context().close();
  });
});

describe("clocks", { timeout: 240_000 }, () => {
  it("show the site's time, whatever zone the browser is in", async () => {
    // The first arrow key picks the first task of the first row.
    const [first] = timetable.tasks
      .filter((task) => task.unit === "weir-yard/spiral-1")
      .sort((one, other) => Date.parse(one.start) - Date.parse(other.start));
    const local = new Intl.DateTimeFormat("en-GB", {
      timeZone: "Europe/Dublin",
      hour: "2-digit",
      minute: "2-digit",
    }).format(Date.parse(first!.start));
    for (const timezoneId of ["Asia/Tokyo", "America/St_Johns"]) {
      const page = await stage.open("today", { timezoneId });
      await page.getByRole("application").focus();
      await page.keyboard.press("ArrowDown");
      expect(await page.locator("[aria-live=polite]").textContent()).toContain(local);
      await page.context().close();
    }
  });

  it("tell the two hours apart on the night when clocks go back", async () => {
    const { documents } = (
      (await stage.api("GET", "/api/days/ordinary-day/documents")) as { body: { documents: Record<string, never> } }
    ).body;
    const { timetable: _, ...rest } = documents as unknown as { timetable: unknown } & DayDocuments;
    const moved = JSON.parse(
      JSON.stringify(rest).replaceAll("2026-11-26", "2026-10-24").replaceAll("2026-11-27", "2026-10-25"),
    ) as DayDocuments;
    const made = await stage.api("PUT", "/api/days/clocks-back", moved, { "if-none-match": "*" });
    expect(made.status, JSON.stringify(made.body)).toBe(201);
    await drawInForce(stage, "clocks-back", 60);
    const page = await stage.open("today", { now: "2026-10-25T00:30Z", timezoneId: "America/New_York" });
    await page.getByLabel("Day", { exact: true }).selectOption("clocks-back");
    await page.getByRole("button", { name: "6 h" }).click();
    await eventually(
      async () => (await page.locator(".axis-hour").allTextContents()).filter((text) => text === "01:00").length,
    ).toBe(2);
    await page.getByRole("button", { name: "Out of service: Spiral mixer" }).click();
    await page.getByLabel("From: time").fill("01:30");
    const which = page.getByLabel("From: which of the two");
    await eventually(() => which.locator("option").allTextContents()).toEqual(["first time", "second time"]);
    expect(page.complaints).toEqual([]);
    await page.context().close();
  });
});
