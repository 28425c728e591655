import type { CDPSession, Page } from "playwright-core";
import { drawInForce, type Stage, setStage } from "../board/stage.js";
import { realisticDay } from "./days/realistic-day.js";
import { loadText, table } from "./table.js";

interface Measured {
  readonly loads: number;
  readonly tasks: number;
  readonly paintMs: number;
  readonly longestMs: number;
  readonly longTasks: number;
  readonly framesPerSecond: number;
}

/** Notes, in the page, when the data was there, when the picture was first painted, every task of the browser above 50 ms, and every frame. */
const WATCH = `
  window.seen = { long: [], frames: [], painted: 0 };
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) window.seen.long.push({ at: entry.startTime, ms: entry.duration });
  }).observe({ type: "longtask", buffered: true });
  const count = (now) => {
    window.seen.frames.push(now);
    const canvas = document.querySelector("canvas");
    if (window.seen.painted === 0 && canvas && canvas.width > 400) {
      const data = performance.getEntriesByType("resource").filter((entry) => entry.name.endsWith("/documents")).at(-1);
      if (data && data.responseEnd > 0) window.seen.painted = performance.now() - data.responseEnd;
    }
    requestAnimationFrame(count);
  };
  requestAnimationFrame(count);
`;

async function wheel(page: Page, session: CDPSession, deltaY: number, modifiers: number): Promise<void> {
  const box = (await page.locator("canvas").boundingBox())!;
  await session.send("Input.dispatchMouseEvent", {
    type: "mouseWheel",
    x: box.x + box.width * 0.6,
    y: box.y + 200,
    deltaX: 0,
    deltaY,
    modifiers,
  });
}

async function measure(stage: Stage, loads: number): Promise<Measured> {
  const day = `bench-${loads}`;
  const { inForce: _, ...documents } = realisticDay(1, loads);
  const made = await stage.api("PUT", `/api/days/${day}`, documents, { "if-none-match": "*" });
  if (made.status !== 201) throw new Error(`${day}: ${made.status} ${JSON.stringify(made.body)}`);
  const timetable = await drawInForce(stage, day, 1);
  const context = await stage.browser.newContext({ viewport: { width: 1280, height: 800 } });
  const page = await context.newPage();
  await page.addInitScript(WATCH);
  await page.addInitScript(`localStorage.setItem("deck-and-shelf.day", "${day}")`);
  await page.goto(`${stage.server.url}/#/today`);
  let paintMs = 0;
  while (paintMs === 0) {
    await page.waitForTimeout(100);
    paintMs = Number(await page.evaluate("window.seen.painted"));
  }
  await page.waitForTimeout(1500);
  await page.evaluate("window.seen.long.length = 0; window.seen.frames.length = 0");
  const session = await context.newCDPSession(page);
  const CTRL = 2;
  const SHIFT = 8;
  for (let i = 0; i < 30; i++) await wheel(page, session, -60, CTRL);
  for (let i = 0; i < 30; i++) await wheel(page, session, i % 10 < 5 ? 80 : -80, SHIFT);
  for (let i = 0; i < 30; i++) await wheel(page, session, 60, CTRL);
  const seen = (await page.evaluate("window.seen")) as { long: { ms: number }[]; frames: number[] };
  const { frames } = seen;
  await context.close();
  return {
    loads: timetable.loads.length,
    tasks: timetable.tasks.length,
    paintMs,
    longestMs: Math.max(0, ...seen.long.map(({ ms }) => ms)),
    longTasks: seen.long.filter(({ ms }) => ms > 100).length,
    framesPerSecond: (1000 * (frames.length - 1)) / Math.max(1, frames.at(-1)! - frames[0]!),
  };
}

/** How quickly the board shows big days, and how smoothly it zooms and pans, as a real Chromium measures it. */
export async function benchBoard(sizes: readonly number[]): Promise<number> {
  const stage = await setStage();
  try {
    const rows: Measured[] = [];
    for (const size of sizes) rows.push(await measure(stage, size));
    const header = [
      "loads",
      "tasks",
      "painted after the data, ms",
      "longest task while zooming and panning, ms",
      "tasks above 100 ms",
      "frames a second",
    ];
    const cells = rows.map((row) => [
      row.loads,
      row.tasks,
      row.paintMs.toFixed(0),
      row.longestMs === 0 ? "below 50" : row.longestMs.toFixed(0),
      row.longTasks,
      row.framesPerSecond.toFixed(0),
    ]);
    process.stdout.write(`${loadText()}\n${table(header, cells)}`);
  } finally {
    await stage.close();
  }
  return 0;
}
