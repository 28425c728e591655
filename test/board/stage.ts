import axe from "axe-core";
import { type Browser, type BrowserContextOptions, chromium, type Page } from "playwright-core";
import type { Timetable } from "../../schemas/index.js";
import { chromiumPath } from "../support/apt.js";
import { startServer, type TestServer } from "../support/server.js";

/** A night of the demo day, in the middle of the bake. */
export const NIGHT = "2026-11-27T03:40Z";
export const PAGES = ["today", "orders", "balance", "fridge-and-ovens", "what-if", "kitchen", "sheets", "set-up"];

export interface Stage {
  readonly server: TestServer;
  readonly browser: Browser;
  readonly api: (
    method: string,
    path: string,
    body?: unknown,
    headers?: Record<string, string>,
  ) => Promise<{ status: number; body: never; etag: string }>;
  /** A page of the board with nobody's stored choices; what it complains of is gathered in `complaints`. */
  readonly open: (
    hash: string,
    options?: BrowserContextOptions & { now?: string },
  ) => Promise<Page & { complaints: string[] }>;
  readonly close: () => Promise<void>;
}

/** Draws a day with so many tries, so that every run has the same timetable; gives the job and what it made. */
export async function drawUp(
  stage: Pick<Stage, "api">,
  day: string,
  iterations: number,
  seed = 1,
): Promise<{ job: string; timetable: Timetable }> {
  const { body: job } = (await stage.api("POST", `/api/days/${day}/draw`, { iterations, seed })) as {
    body: { id: string };
  };
  for (;;) {
    const { body } = (await stage.api("GET", `/api/jobs/${job.id}`)) as {
      body: { state: string; fault?: { detail: string } };
    };
    if (body.state === "done") break;
    if (body.state === "failed") throw new Error(body.fault?.detail);
    await new Promise((resolve) => setTimeout(resolve, 150));
  }
  const { body: result } = (await stage.api("GET", `/api/jobs/${job.id}/result`)) as { body: { timetable: Timetable } };
  return { job: job.id, timetable: result.timetable };
}

/** Draws a day up and puts it in force. */
export async function drawInForce(stage: Pick<Stage, "api">, day: string, iterations: number): Promise<Timetable> {
  const { job, timetable: drawn } = await drawUp(stage, day, iterations);
  const { body: record } = (await stage.api("GET", `/api/days/${day}`)) as {
    body: { versions: { timetable?: number } };
  };
  const { timetable } = record.versions;
  const match: Record<string, string> =
    timetable === undefined ? { "if-none-match": "*" } : { "if-match": `"timetable-${timetable}"` };
  const put = await stage.api("POST", `/api/days/${day}/in-force`, { job }, match);
  if (put.status !== 200) throw new Error(`in force: ${put.status} ${JSON.stringify(put.body)}`);
  return drawn;
}

export async function setStage(options: Parameters<typeof startServer>[0] = {}): Promise<Stage> {
  const [server, browser] = await Promise.all([
    startServer(options),
    chromium.launch({ executablePath: chromiumPath(), args: ["--no-sandbox", "--disable-dev-shm-usage"] }),
  ]);
  const api: Stage["api"] = async (method, path, body, headers = {}) => {
    const response = await fetch(server.url + path, {
      method,
      headers: { ...(body === undefined ? {} : { "content-type": "application/json" }), ...headers },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    const text = await response.text();
    const isJson = /json/.test(response.headers.get("content-type") ?? "");
    return {
      status: response.status,
      body: (isJson ? JSON.parse(text) : text) as never,
      etag: response.headers.get("etag") ?? "",
    };
  };
  return {
    server,
    browser,
    api,
    open: async (hash, { now = NIGHT, ...options } = {}) => {
      const context = await browser.newContext({
        viewport: { width: 1280, height: 800 },
        reducedMotion: "reduce",
        ...options,
      });
      const page = await context.newPage();
      const complaints: string[] = [];
      page.on("console", (message) => {
        if (message.type() === "error" || message.type() === "warning") complaints.push(message.text());
      });
      page.on("pageerror", (error) => complaints.push(error.message));
      await page.goto(`${server.url}/?now=${now}#/${hash}`);
      await page.waitForSelector("main h1");
      return Object.assign(page, { complaints });
    },
    close: async () => {
      await browser.close();
      await server.stop();
    },
  };
}

interface Finding {
  readonly id: string;
  readonly impact: string;
  readonly nodes: readonly { readonly html: string; readonly failureSummary: string }[];
}

/** What axe-core finds wrong on the page, from serious upwards. */
export async function findings(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  const result = (await page.evaluate(
    "axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice'] })",
  )) as {
    violations: Finding[];
  };
  return result.violations
    .filter((violation) => violation.impact === "serious" || violation.impact === "critical")
    .flatMap((violation) =>
      violation.nodes.slice(0, 4).map((node) => `${violation.id}: ${node.html.slice(0, 160)} ${node.failureSummary}`),
    );
}
