import { mkdtemp, readFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Download } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Task, Timetable } from "../../schemas/index.js";
import { filesInZip } from "../../services/board/logic/zip.js";
import { build } from "../support/built.js";
import { eventually } from "./eventually.js";
import { drawInForce, findings, type Stage, setStage } from "./stage.js";

let stage: Stage;
beforeAll(async () => {
  build();
  stage = await setStage();
  await drawInForce(stage, "ordinary-day", 200);
}, 180_000);
afterAll(async () => {
  await stage?.close();
});

const dayIds = async (): Promise<string[]> =>
  ((await stage.api("GET", "/api/days")) as { body: { days: { id: string }[] } }).body.days.map(({ id }) => id);
const marksOf = async (day: string): Promise<string[]> =>
  ((await stage.api("GET", `/api/days/${day}/marks`)) as { body: { marks: { task: string }[] } }).body.marks.map(
    ({ task }) => task,
  );
const documentsOf = async (day: string): Promise<object> =>
  ((await stage.api("GET", `/api/days/${day}/documents`)) as { body: { documents: object } }).body.documents;

async function makeAnew(day: string, documents: object, query = ""): Promise<void> {
  const { etag } = await stage.api("GET", `/api/days/${day}`);
  expect((await stage.api("DELETE", `/api/days/${day}`, undefined, { "if-match": etag })).status).toBe(204);
  const made = await stage.api("PUT", `/api/days/${day}${query}`, documents, { "if-none-match": "*" });
  expect(made.status).toBe(201);
}

describe("deleting a day", { timeout: 120_000 }, () => {
  it("asks with the day's name and what is lost, saves its files first, and can be taken back", async () => {
    const before = await documentsOf("ordinary-day");
    const { tasks } = (before as { timetable: Timetable }).timetable;
    const bake = tasks.find(({ does, unit }) => does === "bake" && unit?.startsWith("weir-yard/oven-1/"))!;
    const mark = { task: bake.id, what: "started", at: bake.start };
    expect((await stage.api("POST", "/api/days/ordinary-day/marks", mark)).status).toBe(201);
    const page = await stage.open("set-up");
    const other = await stage.open("kitchen/weir-yard/oven-1");
    await page.getByRole("button", { name: "Delete this day" }).click();
    const dialog = page.getByRole("dialog", { name: "Delete ordinary day?" });
    const text = (await dialog.textContent()) ?? "";
    expect(text).toContain("84 order lines, 2,390 pieces");
    expect(text).toContain("the timetable in force");
    expect(text).toContain("The kitchen works by this day now.");
    expect(await findings(page)).toEqual([]);
    // Enter and Escape both leave it.
    await page.keyboard.press("Enter");
    await dialog.waitFor({ state: "detached" });
    expect(await dayIds()).toContain("ordinary-day");

    await page.getByRole("button", { name: "Delete this day" }).click();
    const given: Download[] = [];
    page.on("download", (download) => given.push(download));
    await dialog.getByRole("button", { name: "Save its files first" }).click();
    await eventually(() => given.length).toBe(1);
    const zip = join(await mkdtemp(join(tmpdir(), "deckshelf-zip-")), "day.zip");
    await given[0]!.saveAs(zip);
    expect(filesInZip(await readFile(zip)).map(({ name }) => name)).toContain("timetable-in-force.json");
    await dialog.getByRole("button", { name: "Delete ordinary day" }).click();
    await page.locator(".deleted").getByText("ordinary day is deleted.").waitFor();
    expect(await dayIds()).toEqual(["holiday-spike"]);
    expect(await page.getByRole("heading", { name: "Set-up" }).count()).toBe(1);
    // A screen that had it open is told, and still shows what there was.
    await other.locator(".deleted").getByText("was deleted on another screen.").waitFor();
    expect(await other.getByRole("heading", { name: "Deck oven east" }).count()).toBe(1);

    await page.getByRole("button", { name: "Bring ordinary day back" }).click();
    await page.locator(".deleted").waitFor({ state: "detached" });
    await eventually(() => page.getByLabel("Day", { exact: true }).inputValue()).toBe("ordinary-day");
    expect(await documentsOf("ordinary-day")).toEqual(before);
    expect(await marksOf("ordinary-day")).toEqual([bake.id]);
    const { body } = (await stage.api("GET", "/api/days/ordinary-day/documents/orders/history")) as unknown as {
      body: { versions: unknown[] };
    };
    expect(body.versions.length).toBe(2);
    await other.locator(".deleted").getByText("was deleted on another screen.").waitFor({ state: "detached" });
    expect([...page.complaints, ...other.complaints]).toEqual([]);
    await page.context().close();
    await other.context().close();
  });

  it("leaves a day that is made anew under its name without what stations marked of it", async () => {
    const documents = (await documentsOf("ordinary-day")) as { timetable: Timetable };
    await makeAnew("ordinary-day", documents);
    const ofMixer = documents.timetable.tasks.filter(
      ({ does, unit }) => does === "mix" && unit === "weir-yard/spiral-1",
    );
    const [started, finished] = ofMixer as [Task, Task];
    const post = (task: Task, what: string, query = "") =>
      stage.api("POST", `/api/days/ordinary-day/marks${query}`, { task: task.id, what, at: task.start });
    expect((await post(started, "started")).status).toBe(201);
    const { body: day } = (await stage.api("GET", "/api/days/ordinary-day")) as { body: { life?: number } };
    const kitchen = await stage.open("kitchen/weir-yard/spiral-1", { now: encodeURIComponent(started.start) });
    await kitchen.getByRole("button", { name: "Finished" }).first().waitFor();

    await makeAnew("ordinary-day", documents);
    expect(await marksOf("ordinary-day")).toEqual([]);
    const { body: standing } = (await stage.api("POST", "/api/days/ordinary-day/standing")) as unknown as {
      body: { happenings: { happenings: object[] } };
    };
    expect(standing.happenings.happenings).toEqual([]);
    // The open screen forgets them too.
    await kitchen.getByRole("button", { name: "Finished" }).waitFor({ state: "detached" });
    // A mark that was made of the deleted one, and waited to be sent, is none of this one.
    expect((await post(finished, "finished", `?life=${day.life ?? 0}`)).status).toBe(404);

    // The deleted one again, with its marks.
    await makeAnew("ordinary-day", documents, `?life=${day.life ?? 0}`);
    expect(await marksOf("ordinary-day")).toEqual([started.id]);
    const { etag } = await stage.api("GET", "/api/days/ordinary-day");
    await stage.api("DELETE", "/api/days/ordinary-day", undefined, { "if-match": etag });
    const tooMuch = await stage.api("PUT", "/api/days/ordinary-day?life=999", documents, { "if-none-match": "*" });
    expect(tooMuch.status).toBe(400);
    expect((await stage.api("PUT", "/api/days/ordinary-day", documents, { "if-none-match": "*" })).status).toBe(201);
    await kitchen.context().close();
  });

  it("is refused when somebody changed the day meanwhile, and leaves a board without any day to begin anew", async () => {
    const page = await stage.open("set-up");
    await page.getByLabel("Day", { exact: true }).selectOption("holiday-spike");
    await page.getByRole("button", { name: "Delete this day" }).click();
    const dialog = page.getByRole("dialog", { name: "Delete holiday spike?" });
    let isChanged = false;
    // Between the press and the server somebody else saves.
    await page.route("**/api/days/holiday-spike", async (route) => {
      if (route.request().method() !== "DELETE" || isChanged) return route.continue();
      isChanged = true;
      const { etag } = await stage.api("GET", "/api/days/holiday-spike");
      const { body: settings } = await stage.api("GET", "/api/days/holiday-spike/documents/settings");
      const changed = { settings: { ...(settings as object), name: "The eve" } };
      await stage.api("PUT", "/api/days/holiday-spike", changed, { "if-match": etag });
      return route.continue();
    });
    await dialog.getByRole("button", { name: "Delete holiday spike" }).click();
    await dialog.getByText("Somebody changed this day meanwhile; it is not deleted.").waitFor();
    expect(await dayIds()).toContain("holiday-spike");
    await dialog.getByText("The eve").waitFor();
    await dialog.getByRole("button", { name: "Delete holiday spike" }).click();
    await page.locator(".deleted").getByText("holiday spike is deleted.").waitFor();
    await page.getByRole("button", { name: "Delete this day" }).click();
    await page.getByText("It is the only day here; the kitchen goes with it.").waitFor();
    await page.getByRole("button", { name: "Delete ordinary day", exact: true }).click();
    await page.getByRole("heading", { name: "No day yet" }).waitFor();
    expect(await dayIds()).toEqual([]);
    await page.getByRole("button", { name: "Bring ordinary day back" }).click();
    await page.getByRole("heading", { name: "Set-up" }).waitFor();
    expect(await dayIds()).toEqual(["ordinary-day"]);
    await page.context().close();
  });
});
