import { mkdtemp, rm } from "node:fs/promises";
import { request as httpRequest } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import fc from "fast-check";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { createRng } from "../../solver/rng.js";
import { build } from "../support/built.js";
import { longestSince, watched } from "../support/loop.js";
import { startServer, type TestServer } from "../support/server.js";

/** Every route, and what nobody should send to it: only refusals with a problem document, and the server goes on. */
const LONG = process.env.DECKSHELF_LONG === "1";
const SEED = Number(process.env.DECKSHELF_SEED ?? 1);
const rng = createRng(SEED);
/** Of the big bodies: the full size is for the long run. */
const SIZE = LONG ? 1 : 0.15;
const many = (count: number): number => Math.round(count * SIZE);
/** Of processor time, in one round of the server's loop, whatever was sent. */
const MOST_WORK_MS = 100;
let folder: string;
let server: TestServer;
let documents: Record<string, unknown>;
let routes: { method: string; path: string }[];

beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-fuzz-"));
  server = await startServer({ env: { DECKSHELF_BODY_MB: "4", ...watched(join(folder, "rounds")) } });
  // What a program does before it serves holds nobody up.
  looked = Date.now();
  const api = (await (await fetch(`${server.url}/api/openapi.json`)).json()) as { paths: Record<string, object> };
  routes = Object.entries(api.paths)
    .filter(([path]) => !path.endsWith("/events"))
    .flatMap(([path, methods]) => Object.keys(methods).map((method) => ({ method: method.toUpperCase(), path })));
  ({ documents } = (await (await fetch(`${server.url}/api/days/ordinary-day/documents`)).json()) as {
    documents: Record<string, unknown>;
  });
  await look("the first requests");
}, 180_000);
afterAll(async () => {
  await server.stop();
  await rm(folder, { recursive: true, force: true });
});

interface Answer {
  readonly status: number;
  readonly type: string;
  readonly text: string;
}

/** Without the manners of fetch: any path, any header. */
function send(method: string, path: string, headers: Record<string, string>, body?: Buffer | string): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const { hostname, port } = new URL(server.url);
    const asked = httpRequest({ hostname, port, method, path, headers, insecureHTTPParser: false }, (response) => {
      let text = "";
      response.on("data", (data: Buffer) => {
        if (text.length < 5000) text += data.toString();
      });
      response.on("end", () =>
        resolve({ status: response.statusCode!, type: response.headers["content-type"] ?? "", text }),
      );
    });
    // A refusal may come before all was sent.
    asked.on("error", (error: NodeJS.ErrnoException) =>
      error.code === "EPIPE" || error.code === "ECONNRESET"
        ? resolve({ status: 413, type: "cut", text: "" })
        : reject(error),
    );
    asked.end(body);
  });
}

let looked = 0;

/**
 * The longest rounds of the server's loop since the last look. How long they were is told only, as the machine has its part in it; how much of that the server's thread
 * itself worked is not the machine's doing.
 */
async function look(what: string): Promise<void> {
  const longest = await longestSince(join(folder, "rounds"), looked);
  looked = Date.now();
  if (!longest) return;
  console.log(`${longest.text} during: ${what}`);
  expect(longest.workedMs, what).toBeLessThan(MOST_WORK_MS);
}

const counts = new Map<number, number>();
let total = 0;

function mustBeRefused(answer: Answer, what: string): void {
  total++;
  counts.set(answer.status, (counts.get(answer.status) ?? 0) + 1);
  const shown = `${what}: ${answer.status} ${answer.text.slice(0, 300)}`;
  expect(answer.status, shown).toBeGreaterThanOrEqual(400);
  expect(answer.status, shown).toBeLessThan(500);
  if (answer.type === "cut") return;
  expect(answer.type, shown).toMatch(/^application\/problem\+json/);
  expect(answer.text, shown).not.toMatch(/node_modules|\bat .*\.js:\d/);
}

function mustBeCalm(answer: Answer, what: string): void {
  total++;
  counts.set(answer.status, (counts.get(answer.status) ?? 0) + 1);
  expect(answer.status, `${what}: ${answer.status} ${answer.text.slice(0, 300)}`).toBeLessThan(500);
}

const ODD: readonly unknown[] = [
  null,
  true,
  -1,
  1e308,
  -1e308,
  0.1,
  2 ** 53,
  "",
  "\u0000",
  "\ud800",
  "\u202e\u200b\ufeff",
  "../../etc/passwd",
  "=HYPERLINK(1)",
  "9".repeat(400),
  "x".repeat(100_000),
  [],
  {},
  [[[[[]]]]],
  { $ref: "#" },
  { __proto__x: 1 },
  "2026-02-30T25:61:00+99:99",
];

function pick<T>(list: readonly T[]): T {
  return list[rng.below(list.length)]!;
}

/** A copy with one place replaced, taken away or doubled. */
function mutated(value: unknown): unknown {
  const copy = structuredClone(value);
  let holder = copy as Record<string, unknown>;
  for (let depth = 0; depth < 12; depth++) {
    const keys = Object.keys(holder);
    if (keys.length === 0) break;
    const key = pick(keys);
    const next = holder[key];
    if (typeof next === "object" && next !== null && rng.below(4) > 0) {
      holder = next as Record<string, unknown>;
      continue;
    }
    const how = rng.below(4);
    if (how === 0) delete holder[key];
    else if (how === 1) holder[`${key}x`] = next;
    else holder[key] = pick(ODD);
    break;
  }
  return copy;
}

const NAMES: Record<string, string> = {
  day: "ordinary-day",
  document: "orders",
  version: "1",
  job: "0".repeat(26),
  mark: "0".repeat(26),
  token: "0".repeat(26),
  problem: "nothing",
};

function address(path: string): string {
  return path.replaceAll(/\{(\w+)\}/g, (_, name: string) => NAMES[name]!);
}

const json = { "Content-Type": "application/json" };

afterEach((context) => look(context.task.name));

describe("fuzz", { timeout: LONG ? 3_600_000 : 120_000 }, () => {
  it("random JSON to every route that takes a body", async () => {
    const rounds = LONG ? 300 : 40;
    const writers = routes.filter(({ method }) => method === "PUT" || method === "POST");
    const samples = fc.sample(fc.jsonValue({ maxDepth: 6 }), { numRuns: rounds * writers.length, seed: SEED });
    let i = 0;
    for (let round = 0; round < rounds; round++) {
      for (const { method, path } of writers) {
        const body = rng.below(3) === 0 ? JSON.stringify(pick(ODD)) : JSON.stringify(samples[i++]);
        mustBeCalm(await send(method, address(path), json, body ?? ""), `${method} ${path} ${body?.slice(0, 200)}`);
      }
    }
  });

  it("valid documents with one thing wrong", async () => {
    const rounds = LONG ? 5000 : 1000;
    for (let round = 0; round < rounds; round++) {
      const name = pick(Object.keys(documents));
      const body = JSON.stringify(mutated(documents[name]));
      const answer = await send("PUT", `/api/days/ordinary-day/documents/${name}`, { ...json, "If-Match": "*" }, body);
      // Some changes are no fault.
      if (answer.status === 200) mustBeCalm(answer, name);
      else mustBeRefused(answer, `${name} ${body.slice(0, 200)}`);
    }
  });

  it("bodies that are no JSON, or far too much of it", async () => {
    const depth = many(1_000_000);
    const bodies: (string | Buffer)[] = [
      "{",
      "\u0000",
      "[".repeat(depth),
      `${"[".repeat(depth)}${"]".repeat(depth)}`,
      `${'{"a":'.repeat(many(250_000))}1${"}".repeat(many(250_000))}`,
      `{"lines":[${"{},".repeat(many(200_000))}{}]}`,
      `{"format":"orders/1","lines":[${'{"id":1},'.repeat(many(100_000))}{}]}`,
      `{"a":${"9".repeat(many(1_000_000))}}`,
      `{"a":1e${"9".repeat(100)}}`,
      JSON.stringify("x".repeat(3_000_000)),
      `{${Array.from({ length: many(100_000) }, (_, i) => `"k${i}":1`).join(",")}}`,
      '{"__proto__":{"polluted":1},"constructor":{"prototype":{"polluted":1}}}',
      Buffer.from([0xff, 0xfe, 0x00, 0x80]),
      Buffer.alloc(8 * 1024 * 1024, 0x20),
      "\ufeff[]",
      "{}",
    ];
    const targets = [
      ["PUT", "/api/days/ordinary-day/documents/orders"],
      ["PUT", "/api/days/ordinary-day"],
      ["PUT", "/api/days/ordinary-day/documents/network"],
      ["POST", "/api/draw"],
      ["POST", "/api/days/ordinary-day/verify"],
      ["POST", "/api/tokens"],
    ] as const;
    for (const body of bodies)
      for (const [method, path] of targets)
        mustBeRefused(
          await send(method, path, { ...json, "If-Match": "*" }, body),
          `${path} ${body.toString().slice(0, 40)}`,
        );
  });

  it("CSV bombs and compressed bombs", async () => {
    const header = "id,product,pieces,site,due";
    const bodies = [
      `${header}\n${'"'.repeat(2 * many(500_000) + 1)}`,
      `${header}\n${",".repeat(many(1_000_000))}`,
      `${",".repeat(many(500_000))}\n1`,
      `${header}\n${"a,b,1,c,d\n".repeat(many(100_000))}`,
      `${header}\n"${"x\n".repeat(many(500_000))}`,
      `${header}\r\n=cmd|'/c calc'!A1,=1+1,1,@SUM(1),+1`,
      "\u0000".repeat(100_000),
      "",
    ];
    const csv = { "Content-Type": "text/csv", "If-Match": "*" };
    const path = "/api/days/ordinary-day/documents/orders";
    for (const body of bodies) mustBeRefused(await send("PUT", path, csv, body), body.slice(0, 60));
    const bomb = gzipSync(Buffer.alloc(200 * 1024 * 1024, 0x5b));
    for (const type of [csv, { ...json, "If-Match": "*" }])
      mustBeRefused(await send("PUT", path, { ...type, "Content-Encoding": "gzip" }, bomb), "gzip bomb");
    mustBeRefused(await send("PUT", path, { ...csv, "Content-Encoding": "gzip" }, "not gzip"), "not gzip");
    mustBeRefused(await send("PUT", path, { ...csv, "Content-Encoding": "zzz" }, "x"), "unknown coding");
  });

  it("paths, queries and headers", async () => {
    const odd = [
      "..%2f..%2fetc",
      "%2e%2e/%2e%2e/package.json",
      "%00",
      "%",
      "%ff%fe",
      "a".repeat(5000),
      "CON",
      "-",
      "A",
      "ä",
      "__proto__",
      "constructor",
      ";",
      "*",
      "'or 1=1",
    ];
    for (const text of odd) {
      const part = /^[\x21-\x7e]*$/.test(text) ? text.replaceAll("'", "%27") : encodeURIComponent(text);
      for (const path of [
        `/api/days/${part}`,
        `/api/days/ordinary-day/documents/${part}`,
        `/api/jobs/${part}`,
        `/api/days/ordinary-day/documents/orders/history/${part}`,
        `/api/${part}`,
        `/problems/${part}`,
        `/api/days?${part}=1`,
        `/api/jobs?before=${part}`,
      ])
        mustBeRefused(await send("GET", path, {}), path.slice(0, 100));
      mustBeCalm(await send("GET", `/${part}`, {}), part);
    }
    for (const path of [
      "//etc/passwd",
      "/../package.json",
      "/.git/config",
      "/assets/../../package.json",
      "/%2e%2e%2fpackage.json",
      "/\\..\\package.json",
    ]) {
      const answer = await send("GET", path, {});
      mustBeCalm(answer, path);
      expect(answer.text).not.toContain("dependencies");
    }
    const settings = JSON.stringify(documents.settings);
    for (const headers of [
      { "If-Match": "x".repeat(4000) },
      { "If-Match": '""' },
      { "If-None-Match": '"a", "b",,,' },
      { "If-Match": "*", "Idempotency-Key": "" },
      { "If-Match": "*", "Idempotency-Key": "k".repeat(300) },
      { "If-Match": "*", "Content-Type": "application/xml" },
      { "If-Match": "*", "Content-Type": "multipart/form-data; boundary=x" },
      { "If-Match": "*", Host: "elsewhere" },
      { "If-Match": "*", Origin: "null" },
    ]) {
      const sent = { ...json, ...headers } as Record<string, string>;
      mustBeRefused(
        await send("PUT", "/api/days/ordinary-day/documents/settings", sent, settings),
        JSON.stringify(headers).slice(0, 80),
      );
    }
    for (const { path } of routes)
      for (const method of ["PATCH", "TRACE", "PROPFIND", "OPTIONS"])
        mustBeCalm(await send(method, address(path), {}), `${method} ${path}`);
  });

  it("leaves a server that is well, and no bigger", async () => {
    const metrics = await (await fetch(`${server.url}/metrics`)).text();
    const memoryMb = Number(/^deckshelf_process_resident_memory_bytes (\S+)/m.exec(metrics)![1]) / 1024 / 1024;
    expect((await fetch(`${server.url}/health/ready`)).status).toBe(200);
    expect(memoryMb).toBeLessThan(1200);
    expect((Object.prototype as { polluted?: unknown }).polluted).toBeUndefined();
    const all = [...counts].sort(([a], [b]) => a - b).map(([status, count]) => `${status}: ${count}`);
    console.log(`fuzz: ${total} requests (${all.join(", ")}), none 5xx; resident ${memoryMb.toFixed(0)} MB`);
    expect(server.output()).not.toContain('"msg":"fault"');
  });
});
