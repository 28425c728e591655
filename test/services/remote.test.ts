import { mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Timetable } from "../../schemas/index.js";
import { build, deckshelf } from "../support/built.js";
import { startServer, type TestServer } from "../support/server.js";

const DAY = "services/demo/ordinary-day";
let folder: string;
let server: TestServer;
beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-remote-"));
  server = await startServer({ env: { DECKSHELF_LOGIN: "on" } });
}, 120_000);
afterAll(async () => {
  await server.stop();
  await rm(folder, { recursive: true, force: true });
});

describe("the command line with --server", { timeout: 60_000 }, () => {
  let env: NodeJS.ProcessEnv;
  beforeAll(async () => {
    const made = await deckshelf(["token", "make", "office", "--role", "planner"], {
      env: { DECKSHELF_DATA: server.dataFolder },
    });
    env = { DECKSHELF_TOKEN: made.stdout.trim() };
  });

  it("draws there what it draws here", async () => {
    const args = ["draw", DAY, "--iterations", "40", "--seed", "3", "--quiet", "--json"];
    const here = await deckshelf(args);
    const there = await deckshelf([...args, "--server", server.url], { env });
    expect(there.stderr).toBe("");
    expect(there).toEqual(here);
  });

  it("shows progress, and Ctrl-C stops there and keeps", async () => {
    const out = join(folder, "friday.json");
    const args = ["draw", DAY, "--seconds", "60", "--server", server.url, "--out", out];
    const ran = await deckshelf(args, { env, interruptAfterMs: 100 });
    expect([0, 1]).toContain(ran.code);
    expect(ran.stderr).toMatch(/improving/);
    expect((JSON.parse(await readFile(out, "utf8")) as Timetable).status).toBe("cancelled");
  });

  it.each([
    [["draw", DAY, "--server", "nowhere"], /--server must be an address/],
    [["check", DAY, "--server", "http://127.0.0.1:1"], /works without a server/],
    [["draw", DAY, "--quiet", "--server", "http://127.0.0.1:1"], /127\.0\.0\.1:1/],
  ])("%j is refused in words", async (args, words) => {
    const ran = await deckshelf(args, { env });
    expect(ran.code).toBe(2);
    expect(ran.stderr).toMatch(words);
    expect(ran.stderr).not.toMatch(/\n {4}at /);
  });

  it("says what the server says when it is not let in", async () => {
    const ran = await deckshelf(["draw", DAY, "--quiet", "--server", server.url], { env: { DECKSHELF_TOKEN: "" } });
    expect(ran.code).toBe(2);
    expect(ran.stderr).toMatch(/A token is needed|not known/);
  });
});
