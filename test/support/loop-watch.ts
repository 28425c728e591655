import { appendFile, openSync, readSync } from "node:fs";
import { isMainThread } from "node:worker_threads";

/**
 * Loaded into a server before its own code (`node --import`): watches the rounds of its main thread's loop. Of a long round it says how long it was, how much of
 * that the thread itself worked, and how long it only waited for a core: what is left over it was held up in the kernel. So work that blocks is told from a busy machine.
 */
const EVERY_MS = 5;
/** Shorter rounds are not worth a line. */
const LEAST_MS = 15;

const file = process.env.DECKSHELF_LOOP_WATCH;

/** Of the main thread, in ms: on a core, and waiting for one. Linux only. */
function reader(): (() => readonly [number, number]) | undefined {
  try {
    const handle = openSync(`/proc/self/task/${process.pid}/schedstat`, "r");
    const buffer = Buffer.alloc(80);
    return () => {
      const text = buffer.toString("latin1", 0, readSync(handle, buffer, 0, buffer.length, 0));
      const [worked = 0, waited = 0] = text.split(" ").map(Number);
      return [worked / 1e6, waited / 1e6];
    };
  } catch {
    return undefined;
  }
}

const read = isMainThread && file !== undefined ? reader() : undefined;
if (read && file !== undefined) {
  let at = performance.now();
  let [worked, waited] = read();
  setInterval(() => {
    const now = performance.now();
    const [workedNow, waitedNow] = read();
    const round = { endedAt: Date.now(), ms: now - at, workedMs: workedNow - worked, waitedMs: waitedNow - waited };
    if (round.ms > LEAST_MS) appendFile(file, `${JSON.stringify(round)}\n`, () => undefined);
    [at, worked, waited] = [now, workedNow, waitedNow];
  }, EVERY_MS).unref();
}
