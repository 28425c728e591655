import { readConfig } from "../../operating/config.js";
import type { Store } from "../../store/store.js";
import { UsageError } from "../arguments.js";
import { command } from "../command.js";
import { EXIT, type Outcome } from "../outcome.js";

async function onStore(work: (store: Store) => Promise<string>): Promise<Outcome> {
  // Loaded only here: other commands need no store.
  const { openStore } = await import("../../store/open.js");
  const { FormatTooNew, HalfRestored, StoreNotEmpty, StoreUnavailable } = await import("../../store/store.js");
  const { BadBackup } = await import("../../store/backup-file.js");
  const store = openStore(readConfig());
  try {
    return { stdout: await work(store), stderr: "", code: EXIT.good };
  } catch (error) {
    const theirs = [BadBackup, FormatTooNew, HalfRestored, StoreNotEmpty];
    const message = (error as Error).message.replace(/\.$/, "");
    if (theirs.some((kind) => error instanceof kind)) throw new UsageError(`${message}; nothing was changed.`);
    // In the middle of a restore, perhaps.
    if (error instanceof StoreUnavailable) throw new UsageError(`${message}; run it again.`);
    throw error;
  } finally {
    await store.close();
  }
}

export const backup = command({
  name: "backup",
  summary: "copy the server's whole store to a file, while it runs",
  operands: ["FILE"],
  options: {},
  about: `Writes every record of the store (DECKSHELF_DATA, or REDIS_URL) to FILE: days with all versions, jobs, tokens
(hashes only) and the audit log, all of one moment. The store may be in use.`,
  examples: ["deckshelf backup friday.backup"],
  run: ({ operands }) =>
    onStore(async (store) => {
      const { backUp } = await import("../../store/backup-file.js");
      return `${await backUp(store, operands[0]!)} records.\n`;
    }),
});

export const restore = command({
  name: "restore",
  summary: "put a backup into an empty store",
  operands: ["FILE"],
  options: {},
  about: `Fills the store (DECKSHELF_DATA, or REDIS_URL) from a file that deckshelf backup wrote, also one
from the other kind of store. A store that has records is refused. Jobs that waited or ran go on when a server starts.`,
  examples: ["deckshelf restore friday.backup"],
  run: ({ operands }) =>
    onStore(async (store) => {
      const { restore: putBack } = await import("../../store/backup-file.js");
      return `${await putBack(store, operands[0]!)} records.\n`;
    }),
});
