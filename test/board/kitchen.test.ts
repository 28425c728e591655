import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Timetable } from "../../schemas/index.js";
import { build } from "../support/built.js";
import { eventually } from "./eventually.js";
import { drawInForce, type Stage, setStage } from "./stage.js";

let stage: Stage;
let drawn: Timetable;
beforeAll(async () => {
  build();
  stage = await setStage();
  drawn = await drawInForce(stage, "ordinary-day", 200);
}, 180_000);
afterAll(async () => {
  await stage?.close();
});

describe("the kitchen screen", { timeout: 60_000 }, () => {
  it("shows what is now and next in large type, with buttons that a thumb finds", async () => {
    const page = await stage.open("kitchen", { viewport: { width: 1024, height: 768 }, hasTouch: true });
    await page.getByRole("link", { name: /Deck oven east/ }).click();
    await page.getByRole("heading", { name: "Deck oven east" }).waitFor();
    const size = await page.evaluate(
      "Number.parseFloat(getComputedStyle(document.querySelector('.big-what')).fontSize)",
    );
    expect(size).toBeGreaterThanOrEqual(26);
    for (const button of await page.locator(".big-do .thumb").all()) {
      const box = (await button.boundingBox())!;
      expect(box.height).toBeGreaterThanOrEqual(64);
      expect(box.width).toBeGreaterThanOrEqual(64);
    }
    await page.context().close();
  });

  it("goes on without a connection: marks wait, are shown, and survive a restart of the page", async () => {
    const page = await stage.open("kitchen/weir-yard/oven-1", { viewport: { width: 390, height: 844 } });
    await page.context().setOffline(true);
    await page.getByRole("button", { name: "Started" }).first().click();
    await page.getByText("1 mark waits to be sent").waitFor();
    await page.getByRole("button", { name: "Finished" }).first().click();
    await page.getByText("2 marks wait to be sent").waitFor();
    await page.getByText("no connection").waitFor();
    const kept = (await page.evaluate("localStorage.getItem('deck-and-shelf.marks')")) as string;
    expect((JSON.parse(kept) as unknown[]).length).toBe(2);
    await page.context().close();
  });

  it("is still there when the tablet is restarted without a connection", async () => {
    const page = await stage.open("kitchen/weir-yard/oven-1", { viewport: { width: 1024, height: 768 } });
    await eventually(() => page.evaluate("navigator.serviceWorker.controller !== null")).toBe(true);
    // Once more, so that all of it has gone through the worker.
    await page.reload();
    await page.getByRole("heading", { name: "Deck oven east" }).waitFor();
    await page.context().setOffline(true);
    await page.reload();
    await page.getByRole("heading", { name: "Deck oven east" }).waitFor();
    await page.getByText("no connection").waitFor();
    // So do the other pages, until it is back.
    await page.locator(".pages").getByRole("link", { name: "Today" }).click();
    const unseen = page.getByText("No connection to the server");
    await unseen.waitFor();
    await page.context().setOffline(false);
    await unseen.waitFor({ state: "detached", timeout: 20_000 });
    await page.context().close();
  });

  it("its marks reach the planner's page by themselves, the ones from without a connection too", async () => {
    const planner = await stage.open("today");
    const station = await stage.open("kitchen/weir-yard/oven-1", { viewport: { width: 390, height: 844 } });
    const news = planner.getByRole("region", { name: "From the kitchen" });
    await station.getByRole("button", { name: "Started" }).first().click();
    await news.getByText("started").first().waitFor();
    await station.context().setOffline(true);
    await station.getByRole("button", { name: "Trouble" }).first().click();
    await station.getByRole("button", { name: "10 min", exact: true }).click();
    await station.getByText("1 mark waits to be sent").waitFor();
    await station.context().setOffline(false);
    await news.getByText(/takes 10 min longer/).waitFor({ timeout: 20_000 });
    await station.getByText("connected", { exact: true }).waitFor({ timeout: 20_000 });
    const { body } = (await stage.api("GET", "/api/days/ordinary-day/marks")) as {
      body: { marks: { what: string }[] };
    };
    expect(body.marks.map((mark) => mark.what)).toEqual(["started", "trouble"]);

    // A repair from the planner's page goes by all that was marked, as one of the stored day would, and counts each thing once.
    await news.getByRole("button", { name: "Work it in" }).click();
    const changes = planner.getByRole("region", { name: "Changes" });
    await changes.getByText("Goes by 1 thing that the kitchen marked.").waitFor({ timeout: 40_000 });
    await changes.getByRole("button", { name: "Accept" }).click();
    await changes.waitFor({ state: "detached" });
    const stored = (await stage.api("GET", "/api/days/ordinary-day/documents/happenings")) as {
      body: { happenings: { kind: string; task?: string; note?: string }[] };
    };
    const told = stored.body.happenings.filter(({ kind }) => kind === "started" || kind === "running");
    expect(told).toMatchObject([{ kind: "started", note: "marked by local" }, { kind: "running" }]);
    expect(told[1]!.task).toBe(told[0]!.task);
    expect(await news.getByRole("button", { name: "Work it in" }).count()).toBe(0);
    await planner.context().close();
    await station.context().close();
  });

  it("takes a mark back that was a slip of the thumb, sent or not, and shows none that was set aside elsewhere", async () => {
    const marks = async (): Promise<{ id: string; what: string; setAside?: object }[]> =>
      ((await stage.api("GET", "/api/days/ordinary-day/marks")) as never as { body: { marks: [] } }).body.marks;
    const before = (await marks()).length;
    const page = await stage.open("kitchen/weir-yard/oven-2", { viewport: { width: 820, height: 1180 } });
    const begun = page.locator(".big-card.is-started");
    const shows = (count: number) => eventually(() => begun.count()).toBe(count);
    const news = await stage.open("today");
    await page.getByRole("button", { name: "Started" }).first().click();
    await shows(1);
    await eventually(async () => (await marks()).length).toBe(before + 1);
    await page.getByText(/^Marked last: bake .*, started/).waitFor();
    await page.getByRole("button", { name: "Take back" }).click();
    await shows(0);
    expect((await marks()).at(-1)).toHaveProperty("setAside");
    // Another screen set it aside.
    await page.getByRole("button", { name: "Started" }).first().click();
    await shows(1);
    await eventually(async () => (await marks()).length).toBe(before + 2);
    const id = (await marks()).at(-1)!.id;
    const seen = news.getByRole("region", { name: "From the kitchen" }).getByText("started");
    const count = await seen.count();
    await stage.api("DELETE", `/api/days/ordinary-day/marks/${id}`);
    await shows(0);
    await eventually(() => seen.count()).toBe(count - 1);
    // One that is not sent yet never will be.
    await page.context().setOffline(true);
    await page.getByRole("button", { name: "Started" }).first().click();
    await page.getByText("1 mark waits to be sent").waitFor();
    await page.getByRole("button", { name: "Take back" }).click();
    await page.getByText("1 mark waits to be sent").waitFor({ state: "detached" });
    await shows(0);
    await page.context().close();
    await news.context().close();
  });

  it("says the caution of lye once at what meets it", async () => {
    const boils = drawn.tasks.filter(({ does }) => does === "boil");
    let met = 0;
    for (const { unit, start } of [...new Map(boils.map((task) => [task.unit!, task])).values()]) {
      const page = await stage.open(`kitchen/${unit}`, { now: encodeURIComponent(start) });
      const over = await page.locator(".kitchen-caution").getByText("LYE BURNS").count();
      const cards = await page.locator(".big-caution").getByText("LYE BURNS").count();
      expect(over === 0 || cards === 0, unit).toBe(true);
      met += cards;
      await page.context().close();
    }
    expect(met).toBeGreaterThan(0);
  });

  it("what began late is done late: raw pans are never said to be ready, nor by the word that they take longer", async () => {
    const minute = 60_000;
    const bake = drawn.tasks.find(
      ({ does, unit, start }) =>
        does === "bake" && unit!.startsWith("weir-yard/oven-1/") && start > "2026-11-27T04:15:00+00:00",
    )!;
    const length = Date.parse(bake.end) - Date.parse(bake.start);
    const now = Date.parse(bake.end) + 2 * minute;
    const page = await stage.open("kitchen/weir-yard/oven-1", {
      viewport: { width: 1024, height: 768 },
      now: new Date(now).toISOString(),
    });
    const load = drawn.loads.find(({ id }) => id === bake.load)!;
    const deck = bake.unit!.split("/")[2]!.replace("-", " ");
    const card = page
      .getByRole("list", { name: "Now" })
      .getByRole("listitem")
      .filter({ hasText: `${load.pieces} ` })
      .filter({ hasText: `${deck}, ` })
      .filter({ hasText: clock(Date.parse(bake.start)) });
    await card.getByRole("button", { name: "Started" }).click();
    const begun = page.locator(".big-card.is-started").filter({ hasText: `${deck}, ` });
    const shows = (ms: number) => eventually(() => begun.locator(".big-clock").textContent()).toBe(clock(ms));
    await shows(now + length);
    expect(await begun.locator(".big-count").textContent()).toBe(`done in ${length / minute} min`);
    await begun.getByRole("button", { name: "Trouble" }).click();
    await page.getByRole("button", { name: "10 min", exact: true }).click();
    await shows(now + length + 10 * minute);
    // The screen does not wait for the server; what reaches it says the same.
    const until = async (): Promise<number> => {
      const { body } = (await stage.api("GET", "/api/days/ordinary-day/marks")) as {
        body: { marks: { task: string; happening: { until?: string } }[] };
      };
      return Date.parse(body.marks.filter(({ task }) => task === bake.id).at(-1)?.happening.until ?? "");
    };
    await eventually(until).toBe(now + length + 10 * minute);
    await page.context().close();
  });
});

/** The demo's clocks show UTC in November. */
const clock = (ms: number): string => new Date(ms).toISOString().slice(11, 16);
