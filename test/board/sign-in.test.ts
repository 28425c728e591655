import { execFileSync } from "node:child_process";
import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { build } from "../support/built.js";
import { findings, PAGES, setStage } from "./stage.js";

/** A token's text, made on the store itself; undefined where the command line cannot make tokens. */
function makeToken(dataFolder: string, name: string, role: string): string {
  const args = ["dist/services/cli/main.js", "token", "make", name, "--role", role];
  return execFileSync("node", args, { env: { ...process.env, DECKSHELF_DATA: dataFolder }, stdio: "pipe" })
    .toString()
    .trim();
}

describe("signing in, where tokens are on", { timeout: 180_000 }, () => {
  it("wants a token, refuses a wrong one, and shows each role what it may do", async () => {
    build();
    const dataFolder = mkdtempSync(join(tmpdir(), "deckshelf-board-"));
    const viewer = makeToken(dataFolder, "window", "viewer");
    const planner = makeToken(dataFolder, "office", "planner");
    const stage = await setStage({ dataFolder, env: { DECKSHELF_LOGIN: "on" } });
    try {
      const page = await stage.open("today");
      await page.getByRole("heading", { name: "Sign in" }).waitFor();
      expect(await findings(page)).toEqual([]);
      const enter = async (token: string): Promise<void> => {
        await page.getByLabel("Token").fill(token);
        await page.getByRole("button", { name: "Sign in" }).click();
      };
      await enter("not-a-token");
      await page.getByRole("alert").waitFor();
      await enter(viewer);
      await page.getByText("You may look only; a planner draws up.").waitFor();
      expect(await page.getByRole("button", { name: /^(Draw up|New day)$/ }).count()).toBe(0);
      await page.getByRole("link", { name: "Set-up" }).click();
      await page.getByRole("heading", { name: "Set-up" }).waitFor();
      expect(await page.getByRole("button", { name: "Import files" }).count()).toBe(0);
      await page.getByRole("link", { name: "Today" }).click();
      await page.getByRole("button", { name: "Sign out" }).click();
      await enter(planner);
      await page.getByRole("button", { name: "Draw up" }).waitFor();
      // The cookie is not for scripts.
      expect(await page.evaluate("document.cookie")).toBe("");
      await page.context().close();
    } finally {
      await stage.close();
    }
  });

  it("has nothing for a viewer to press that the server then refuses, and says why", async () => {
    build();
    const dataFolder = mkdtempSync(join(tmpdir(), "deckshelf-board-"));
    const viewer = makeToken(dataFolder, "window", "viewer");
    const planner = makeToken(dataFolder, "office", "planner");
    const stage = await setStage({ dataFolder, env: { DECKSHELF_LOGIN: "on" } });
    try {
      const page = await stage.open("today");
      const refused: string[] = [];
      page.on("response", (response) => {
        if (response.status() === 403) refused.push(`${response.request().method()} ${response.url()}`);
      });
      const enter = async (token: string): Promise<void> => {
        await page.getByLabel("Token").fill(token);
        await page.getByRole("button", { name: "Sign in" }).click();
      };
      await enter(planner);
      await page.getByLabel("Search for").selectOption("5");
      await page.getByRole("button", { name: "Draw up" }).click();
      await page.getByRole("button", { name: "Draw up again" }).waitFor();
      // Something to take back is not left to whoever signs in next.
      await page.getByRole("button", { name: "Undo" }).waitFor();
      await page.getByRole("button", { name: "Sign out" }).click();
      await enter(viewer);
      await page.getByText("You may look only; a planner draws up.").waitFor();
      expect(await page.getByRole("button", { name: "Undo" }).count()).toBe(0);
      for (const name of [...PAGES, "kitchen/weir-yard/oven-1"]) {
        await page.goto(`${page.url().split("#")[0]}#/${name}`);
        await page.waitForSelector("main h1");
        await page.waitForTimeout(300);
        if (!/^(kitchen|sheets|fridge-and-ovens)$/.test(name))
          expect(await page.getByText(/You may look only/).count(), name).toBeGreaterThan(0);
        const typed = await page
          .locator("main :is(input, textarea):enabled:not([type=search], [type=range]):visible")
          .count();
        expect(typed, `${name}: fields`).toBe(0);
        await page.evaluate(`(async () => {
          for (const button of document.querySelectorAll("main button:enabled")) {
            button.click();
            await new Promise((done) => setTimeout(done, 5));
          }
        })()`);
        await page.waitForTimeout(300);
        expect(refused, name).toEqual([]);
      }
      const orders = "id,product,pieces,site,due\nx,plain-ring,1,quay,2026-11-27T06:00";
      await page.goto(`${page.url().split("#")[0]}#/orders`);
      await page.evaluate(`{
        const data = new DataTransfer();
        data.setData("text/plain", ${JSON.stringify(orders)});
        document.body.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true }));
      }`);
      expect(await page.getByText("Not saved yet").count()).toBe(0);
      await page.context().close();
    } finally {
      await stage.close();
    }
  });
});
