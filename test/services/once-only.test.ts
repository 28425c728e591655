import { once } from "node:events";
import { mkdtemp, rm } from "node:fs/promises";
import { createServer, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { LOCAL } from "../../services/api/actor.js";
import { createApp } from "../../services/api/app.js";
import { command } from "../../services/api/command.js";
import type { Asked, Reply, Route } from "../../services/api/route.js";
import type { Services } from "../../services/api/services.js";
import { Problem } from "../../services/problem.js";
import { SqliteStore } from "../../services/store/sqlite.js";
import { build } from "../support/built.js";

let folder: string;
let store: SqliteStore;
let http: Server;
let url: string;
let handle: (asked: Asked) => Promise<Reply>;

const route: Route = {
  id: "change",
  method: "POST",
  path: "/change",
  tag: "Test",
  summary: "Changes something",
  role: "anybody",
  body: { kind: "json", schema: { type: "object" } },
  answers: {},
  handle: (asked) => handle(asked),
};

beforeEach(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-once-"));
  store = new SqliteStore(join(folder, "once.db"));
  const app = createApp({
    services: { store } as unknown as Services,
    routes: [route],
    authenticate: async () => LOCAL,
    stillMay: async () => true,
    bodyLimitBytes: 10_000,
    onFault: () => undefined,
    isBehindProxy: false,
  });
  http = createServer(app).listen(0, "127.0.0.1");
  await once(http, "listening");
  url = `http://127.0.0.1:${(http.address() as AddressInfo).port}/change`;
});
afterEach(async () => {
  http.close();
  await store.close();
  await rm(folder, { recursive: true, force: true });
});

function send(key: string, body: object = {}): Promise<Response> {
  const headers = { "Content-Type": "application/json", "Idempotency-Key": key };
  return fetch(url, { method: "POST", headers, body: JSON.stringify(body) });
}

describe("a command that is sent again while it is under way", () => {
  it("gets the first one's answer, not a refusal for what that one changed", async () => {
    let calls = 0;
    let second = (): void => undefined;
    const secondIsHere = new Promise<void>((resolve) => {
      second = resolve;
    });
    let first = (): void => undefined;
    const firstIsDone = new Promise<void>((resolve) => {
      first = resolve;
    });
    handle = async (asked) => {
      calls++;
      if (calls === 1) {
        await secondIsHere;
        const reply = await command(asked, "change", "it", async (tx) => {
          tx.put("it", calls);
          return { status: 200, json: { done: 1 } };
        });
        first();
        return reply;
      }
      // It looked for an answer before there was one, and finds now that somebody was quicker.
      second();
      await firstIsDone;
      throw new Problem("changed-meanwhile", "Somebody changed it since you read it.");
    };
    const [a, b] = await Promise.all([send("same"), send("same")]);
    expect([a.status, b.status]).toEqual([200, 200]);
    expect(await b.json()).toEqual(await a.json());
    expect(calls).toBe(2);
  });

  it("but another command under that key is refused, and so is one that changed nothing", async () => {
    handle = async (asked) => command(asked, "change", "it", async () => ({ status: 200, json: {} }));
    expect((await send("k", { a: 1 })).status).toBe(200);
    handle = async () => {
      throw new Problem("changed-meanwhile", "Somebody changed it since you read it.");
    };
    expect((await send("k", { a: 2 })).status).toBe(422);
    expect((await send("fresh", { a: 2 })).status).toBe(412);
  });
});
