import autocannon, { type Options, type Result } from "autocannon";
import { startServer } from "../../support/server.js";
import { loadText, table } from "../table.js";

const CONNECTIONS = 20;
/** More than a kitchen asks: what reading costs while others work, rather than how much it can be made to do. */
const STEADY_PER_S = 50;

interface Case {
  readonly name: string;
  readonly options: (url: string, settings: string) => Options;
}

const DAY = "/api/days/ordinary-day";
const CASES: readonly Case[] = [
  { name: "read the list of days", options: (url) => ({ url: `${url}/api/days` }) },
  { name: "read a document (30 KB)", options: (url) => ({ url: `${url}${DAY}/documents/network` }) },
  { name: "read all documents (105 KB)", options: (url) => ({ url: `${url}${DAY}/documents` }) },
  {
    name: "write a document (checked, synced)",
    options: (url, settings) => ({
      url: `${url}${DAY}/documents/settings`,
      method: "PUT",
      headers: { "Content-Type": "application/json", "If-Match": "*" },
      body: settings,
      connections: 4,
    }),
  },
];

async function measure(test: Case, url: string, settings: string, seconds: number, perS?: number): Promise<Result> {
  const rate = perS === undefined ? {} : { overallRate: perS };
  return autocannon({ connections: CONNECTIONS, duration: seconds, ...rate, ...test.options(url, settings) });
}

/** Reads and writes with autocannon, first on an idle server, then while both cores solve; as much as goes, and at a steady rate. */
export async function benchLoad(seconds: number): Promise<void> {
  const server = await startServer();
  const settings = await (await fetch(`${server.url}${DAY}/documents/settings`)).text();
  const rows: string[][] = [];
  for (const isSolving of [false, true]) {
    const jobs: string[] = [];
    if (isSolving) {
      const headers = { "Content-Type": "application/json" };
      const body = JSON.stringify({ seconds: 600 });
      const response = await fetch(`${server.url}${DAY}/draw`, { method: "POST", headers, body });
      jobs.push(((await response.json()) as { id: string }).id);
      await new Promise((resolve) => setTimeout(resolve, 5000));
    }
    for (const [test, perS] of CASES.flatMap((one) => [undefined, STEADY_PER_S].map((rate) => [one, rate] as const))) {
      const result = await measure(test, server.url, settings, seconds, perS);
      rows.push([
        test.name,
        isSolving ? "yes" : "no",
        perS === undefined ? "all it can" : String(perS),
        result.requests.average.toFixed(0),
        String(result.latency.p50),
        String(result.latency.p99),
        String(result.latency.max),
        String(result.errors + result.timeouts + result.non2xx),
      ]);
    }
    for (const job of jobs) await fetch(`${server.url}/api/jobs/${job}/cancel`, { method: "POST" });
  }
  await server.stop();
  const header = ["request", "solving", "asked per s", "per s", "p50 ms", "p99 ms", "most ms", "errors"];
  process.stdout.write(`${loadText()}\n${table(header, rows)}`);
}
