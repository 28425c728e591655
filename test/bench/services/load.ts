import { setPriority } from "node:os";
import autocannon, { type Options } from "autocannon";
import { createRng } from "../../../solver/rng.js";
import { startServer } from "../../support/server.js";
import { loadText, table } from "../table.js";

const CONNECTIONS = 20;
/** More than a kitchen asks: what reading costs while others work, rather than how much it can be made to do. */
const READS_PER_S = 50;
const WRITES_PER_S = 10;

interface Case {
  readonly name: string;
  readonly steadyPerS: number;
  readonly options: (url: string, settings: string) => Options;
}

const DAY = "/api/days/ordinary-day";
const CASES: readonly Case[] = [
  { name: "read the list of days", steadyPerS: READS_PER_S, options: (url) => ({ url: `${url}/api/days` }) },
  {
    name: "read a document (30 KB)",
    steadyPerS: READS_PER_S,
    options: (url) => ({ url: `${url}${DAY}/documents/network` }),
  },
  {
    name: "read all documents (105 KB)",
    steadyPerS: READS_PER_S,
    options: (url) => ({ url: `${url}${DAY}/documents` }),
  },
  {
    name: "write a document (checked, synced)",
    steadyPerS: WRITES_PER_S,
    options: (url, settings) => ({
      url: `${url}${DAY}/documents/settings`,
      method: "PUT",
      headers: { "Content-Type": "application/json", "If-Match": "*" },
      body: settings,
      connections: 4,
    }),
  },
];

interface Measured {
  readonly perS: number;
  readonly p50: number;
  readonly p99: number;
  readonly most: number;
  readonly errors: number;
}

async function cannon(options: Options, seconds: number, perS?: number): Promise<Measured> {
  const rate = perS === undefined ? {} : { overallRate: perS };
  const result = await autocannon({ connections: CONNECTIONS, duration: seconds, ...rate, ...options });
  const { latency, requests, errors, timeouts, non2xx } = result;
  return {
    perS: requests.average,
    p50: latency.p50,
    p99: latency.p99,
    most: latency.max,
    errors: errors + timeouts + non2xx,
  };
}

/** Each at its own moment, by chance, whether those before are answered or not: as people and screens ask. */
async function people(
  { url, method = "GET", headers, body }: Options,
  seconds: number,
  perS: number,
): Promise<Measured> {
  const rng = createRng(1);
  const took: number[] = [];
  let errors = 0;
  const ask = async (): Promise<void> => {
    const from = performance.now();
    const response = await fetch(url, {
      method,
      headers: headers as Record<string, string>,
      body: (body ?? null) as string | null,
    });
    await response.arrayBuffer();
    took.push(performance.now() - from);
    if (!response.ok) errors++;
  };
  const asked: Promise<void>[] = [];
  const started = performance.now();
  for (let at = 0; at < 1000 * seconds; at += (1000 / perS) * -Math.log(1 - rng.unit())) {
    const wait = started + at - performance.now();
    if (wait > 0) await new Promise((resolve) => setTimeout(resolve, wait));
    asked.push(ask().catch(() => void errors++));
  }
  await Promise.all(asked);
  took.sort((a, b) => a - b);
  const quantile = (share: number): number => took[Math.min(took.length - 1, Math.floor(share * took.length))] ?? 0;
  return { perS: asked.length / seconds, p50: quantile(0.5), p99: quantile(0.99), most: quantile(1), errors };
}

type Measure = (options: Options, seconds: number, perS: number) => Promise<Measured>;

/** autocannon, as much as goes and in bursts; and like people. */
const WAYS: readonly (readonly [name: (perS: number) => string, measure: Measure])[] = [
  [() => "all it can", (options, seconds) => cannon(options, seconds)],
  [(perS) => `${perS} at once, each s`, cannon],
  [(perS) => `${perS} a s, by chance`, people],
];

const WARM_S = 2;

/** Whoever asks sits elsewhere in real life: its own waiting for a core is no part of the answer's time. */
function goFirst(): string {
  try {
    setPriority(0, -15);
    return "";
  } catch {
    return "; asking from the same cores, without priority over the server";
  }
}

/** Reads and writes with autocannon, first on an idle server, then while both cores solve; as much as goes, and in bursts, and as people ask. */
export async function benchLoad(seconds: number): Promise<void> {
  const server = await startServer();
  const settings = await (await fetch(`${server.url}${DAY}/documents/settings`)).text();
  const rows: string[][] = [];
  for (const test of CASES) await cannon({ ...test.options(server.url, settings) }, WARM_S);
  const how = goFirst();
  for (const isSolving of [false, true]) {
    const jobs: string[] = [];
    if (isSolving) {
      const headers = { "Content-Type": "application/json" };
      const body = JSON.stringify({ seconds: 600 });
      const response = await fetch(`${server.url}${DAY}/draw`, { method: "POST", headers, body });
      jobs.push(((await response.json()) as { id: string }).id);
      await new Promise((resolve) => setTimeout(resolve, 5000));
    }
    for (const test of CASES) {
      for (const [way, measure] of WAYS) {
        const { perS, p50, p99, most, errors } = await measure(
          test.options(server.url, settings),
          seconds,
          test.steadyPerS,
        );
        const figures = [perS.toFixed(0), p50.toFixed(1), p99.toFixed(1), most.toFixed(1), String(errors)];
        rows.push([test.name, isSolving ? "yes" : "no", way(test.steadyPerS), ...figures]);
      }
    }
    for (const job of jobs) await fetch(`${server.url}/api/jobs/${job}/cancel`, { method: "POST" });
  }
  await server.stop();
  const header = ["request", "solving", "asked", "per s", "p50 ms", "p99 ms", "most ms", "errors"];
  process.stdout.write(`${loadText()}${how}\n${table(header, rows)}`);
}
