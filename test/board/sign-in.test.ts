import { execFileSync } from "node:child_process";
import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { build } from "../support/built.js";
import { findings, setStage } from "./stage.js";

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
      await page.getByText("You may look; a planner draws up.").waitFor();
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
});
