import { join } from "node:path";
import type { DrawResult } from "../solver/index.js";
import { listTokens } from "./access/tokens.js";
import { LOCAL } from "./api/actor.js";
import { writeAtomically } from "./day-folder.js";
import { DEMO_DAY, loadDemo } from "./demo.js";
import { newId } from "./ids.js";
import { accept } from "./jobs/accepting.js";
import { isFinal, type Job, jobKeys } from "./jobs/job.js";
import { readConfig } from "./operating/config.js";
import { createLog } from "./operating/log.js";
import { onStop, runMain } from "./operating/run.js";
import { openBacking, RunningServer } from "./server.js";
import { transact } from "./store/transact.js";
import { breachText, summaryText, wantingText } from "./text/index.js";

/**
 * `npm start`: the whole product in one process. Opens the store, loads the demo on the first run, draws the demo day as a job, prints the summary and the
 * address, and serves until Ctrl-C. With --once it ends after the summary; with --no-draw it serves at once.
 */
const isOnce = process.argv.includes("--once") || process.env.DECKSHELF_ONCE === "1";
const isDrawing = !process.argv.includes("--no-draw");
const config = readConfig({ ...process.env, REDIS_URL: "" });

async function listen(server: RunningServer): Promise<string> {
  const { host, port, isPortFixed } = config;
  if (isOnce) return server.listen(host, 0);
  return server.listen(host, port).catch((error: NodeJS.ErrnoException) => {
    if (error.code !== "EADDRINUSE" || isPortFixed) throw error;
    process.stdout.write(`Port ${port} is taken; taking another (PORT chooses one).\n`);
    return server.listen(host, 0);
  });
}

/** Draws the demo day through the queue, as a planner's request would. */
async function drawDemo({ services }: RunningServer): Promise<Job> {
  const day = await services.days.record(DEMO_DAY);
  const id = newId();
  const fresh = {
    id,
    operation: "draw",
    day: day.id,
    versions: day.versions,
    owner: LOCAL.id,
    rank: 1,
    seconds: 5,
    input: { request: "{}" },
  };
  await transact(services.store, async (tx) => accept(tx, fresh, new Date().toISOString()));
  return new Promise((resolve, reject) => {
    const look = async (): Promise<void> => {
      const job = JSON.parse((await services.store.get(jobKeys.job(id)))!.value) as Job;
      if (!isFinal(job)) return;
      clearInterval(timer);
      unsubscribe();
      resolve(job);
    };
    const lookAgain = (): void => void look().catch(reject);
    const unsubscribe = services.events.subscribe(`job:${id}`, (message) => {
      if ((message as { state?: string }).state !== undefined) lookAgain();
    });
    const timer = setInterval(lookAgain, 500);
    services.relay.kick();
  });
}

/** The summary of what was drawn; also puts it in force when nothing was. */
async function tellDemo({ services }: RunningServer, job: Job): Promise<number> {
  if (job.state !== "done") {
    process.stderr.write(`The demo day was not drawn: ${job.fault?.detail ?? job.state}\n`);
    return job.state === "failed" ? 3 : 0;
  }
  const day = await services.days.documentsOf(job);
  const result = JSON.parse((await services.store.get(jobKeys.result(job.id)))!.value) as DrawResult;
  const text = JSON.stringify(result.timetable);
  const record = await services.days.record(job.day!);
  if (record.versions.timetable === undefined) {
    const checked = await services.days.check([{ document: "timetable", text, isCsv: false }], record.id);
    const author = { by: LOCAL.name, at: new Date().toISOString(), note: `draw ${job.id}` };
    await transact(services.store, (tx) => services.days.put(tx, record.id, checked, author));
  }
  const file = join(config.dataFolder, "timetables", `${job.day}.json`);
  await writeAtomically(file, `${JSON.stringify(result.timetable, null, 2)}\n`);
  const parts = [
    summaryText(day, result.timetable, result),
    wantingText(day, result.timetable),
    result.breaches.length > 0 ? breachText(result.breaches) : "The verifier found no rule broken.",
    `Timetable: ${file}\nEvery station's list: npm run -s deckshelf -- draw services/demo/ordinary-day`,
  ];
  process.stdout.write(`${parts.filter((part) => part !== "").join("\n\n")}\n`);
  return 0;
}

runMain(async () => {
  const log = createLog(config.logLevel, "deckshelf");
  const server = new RunningServer(openBacking(config), config, log, true);
  onStop(async () => {
    process.stdout.write("\nEnding; what runs goes back to the queue.\n");
    await server.close();
  });
  const address = await listen(server);
  await loadDemo(server.services.days);
  const has = isDrawing && (await server.services.days.list()).some((day) => day.id === DEMO_DAY);
  const code = has ? await tellDemo(server, await drawDemo(server)) : 0;
  if (isOnce) {
    await server.close();
    process.exitCode = code;
    return;
  }
  if (config.needsLogin && (await listTokens(server.services.store)).length === 0)
    process.stdout.write("\nThis address needs tokens, and there is none yet: make one with deckshelf token.\n");
  process.stdout.write(`\nDeck & Shelf: ${address}   (API: ${address}/api; Ctrl-C ends)\n`);
});
