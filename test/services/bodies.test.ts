import { once } from "node:events";
import { mkdtemp, rm } from "node:fs/promises";
import { request as httpRequest } from "node:http";
import { connect } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { build } from "../support/built.js";
import { longestSince, watched } from "../support/loop.js";
import { startServer, type TestServer } from "../support/server.js";

/** Bodies of the greatest size, many at once: whatever becomes of them, nobody else waits for it. */
const MB = 1024 * 1024;
/** More than are held at a time. */
const AT_ONCE = 20;
/** Of processor time, in one round of the server's loop. */
const MOST_WORK_MS = 100;
let folder: string;
let server: TestServer;

beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-bodies-"));
  server = await startServer({ env: watched(join(folder, "rounds")) });
}, 180_000);
afterAll(async () => {
  await server.stop();
  await rm(folder, { recursive: true, force: true });
});

/** As much as the server takes, and letters of two bytes throughout. */
const letters = Buffer.from(JSON.stringify({ format: "é".repeat(8 * MB - 100) }));
/** Wrong in every entry: to list all that is wrong would take a gigabyte. */
const wrong = Buffer.from(`{"format":"orders/1","lines":[${'{"id":1},'.repeat(1_800_000)}{}]}`);
const packed = gzipSync(letters, { level: 1 });

interface Sent {
  readonly path: string;
  readonly body: Buffer;
  readonly method?: string;
  readonly headers?: Readonly<Record<string, string>>;
  /** Does not say how long it is. */
  readonly isOpen?: boolean;
}

/** The status of the answer; "cut" when the line was. */
function send({ path, body, method = "PUT", headers = {}, isOpen = false }: Sent): Promise<number | "cut"> {
  const { hostname, port } = new URL(server.url);
  return new Promise((resolve, reject) => {
    const length = isOpen ? { "Transfer-Encoding": "chunked" } : { "Content-Length": String(body.length) };
    const all = { "Content-Type": "application/json", "If-Match": "*", ...length, ...headers };
    const asked = httpRequest({ hostname, port, method, path, headers: all }, (response) => {
      response.resume();
      response.on("end", () => resolve(response.statusCode!));
    });
    asked.on("error", ({ code }: NodeJS.ErrnoException) =>
      code === "EPIPE" || code === "ECONNRESET" ? resolve("cut") : reject(new Error(code)),
    );
    asked.end(body);
  });
}

const orders = "/api/days/ordinary-day/documents/orders";
const CASES: readonly (readonly [what: string, sent: Sent, statuses: readonly (number | "cut")[]])[] = [
  ["documents", { path: orders, body: letters }, [422, 503]],
  ["documents under a key", { path: orders, body: letters, headers: { "Idempotency-Key": "k" } }, [422, 503]],
  ["documents that do not say how long they are", { path: orders, body: letters, isOpen: true }, [422, 503]],
  ["packed documents", { path: orders, body: packed, headers: { "Content-Encoding": "gzip" } }, [422, 503]],
  ["documents that are wrong throughout", { path: orders, body: wrong }, [422, 503]],
  ["requests with documents", { path: "/api/draw", method: "POST", body: letters }, [400, 503]],
  ["bodies where small ones are taken", { path: "/api/tokens", method: "POST", body: letters }, [413, 503]],
  ["bodies where none is taken", { path: "/api/days", method: "GET", body: letters }, [200]],
  ["bodies to nowhere", { path: "/api/nowhere", body: letters }, [404]],
];

describe("great bodies, many at once", { timeout: 120_000 }, () => {
  it.each(CASES)("%s", async (what, sent, statuses) => {
    const since = Date.now();
    const answers = await Promise.all(Array.from({ length: AT_ONCE }, () => send(sent)));
    for (const status of new Set(answers)) expect(statuses).toContain(status);
    expect((await fetch(`${server.url}/health/ready`)).status).toBe(200);
    const longest = await longestSince(join(folder, "rounds"), since);
    if (!longest) return;
    console.log(`${AT_ONCE} ${what}: ${longest.text}`);
    expect(longest.workedMs).toBeLessThan(MOST_WORK_MS);
  });

  it("are taken as they are, with whatever length they say, and refused when they are too great or cut off", async () => {
    const small = Buffer.from("[]");
    for (const isOpen of [false, true]) expect(await send({ path: orders, body: small, isOpen })).toBe(422);
    const settings = await (await fetch(`${server.url}/api/days/ordinary-day/documents/settings`)).text();
    const padded = Buffer.from(settings.padEnd(3 * MB));
    for (const how of [{}, { isOpen: true }]) {
      const put = { path: "/api/days/ordinary-day/documents/settings", body: padded, ...how };
      expect(await send(put)).toBe(200);
      const zipped = { ...put, body: gzipSync(padded), headers: { "Content-Encoding": "gzip" } };
      expect(await send(zipped)).toBe(200);
    }
    const great = Buffer.alloc(17 * MB, " ");
    for (const isOpen of [false, true])
      expect([413, "cut"]).toContain(await send({ path: orders, body: great, isOpen }));
    // Whoever goes away leaves no room taken.
    const { hostname, port } = new URL(server.url);
    for (let i = 0; i < AT_ONCE; i++) {
      const socket = connect(Number(port), hostname);
      socket.write(
        `PUT ${orders} HTTP/1.1\r\nHost: ${hostname}:${port}\r\nIf-Match: *\r\nContent-Length: ${16 * MB}\r\n\r\n{`,
      );
      await new Promise((resolve) => setTimeout(resolve, 20));
      socket.destroy();
      await once(socket, "close");
    }
    expect(await send({ path: orders, body: letters })).toBe(422);
    expect(server.output()).not.toContain('"msg":"fault"');
  });

  it("leave a server of no more than their size", async () => {
    const metrics = await (await fetch(`${server.url}/metrics`)).text();
    const memoryMb = Number(/^deckshelf_process_resident_memory_bytes (\S+)/m.exec(metrics)![1]) / MB;
    console.log(`after ${AT_ONCE * CASES.length} bodies of 16 MB: resident ${memoryMb.toFixed(0)} MB`);
    expect(memoryMb).toBeLessThan(1500);
  });
});
