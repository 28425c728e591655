import { createHash } from "node:crypto";
import { newId } from "../ids.js";
import { Problem } from "../problem.js";
import { type Transaction, transact } from "../store/transact.js";
import type { Asked, Reply } from "./route.js";

/** What a command answered, kept so that the same command sent again gets the same answer and is not done again. */
interface KeptReply {
  readonly fingerprint: string;
  readonly reply: Reply;
  readonly at: string;
}

export interface AuditRecord {
  readonly at: string;
  readonly by: string;
  readonly name: string;
  readonly action: string;
  readonly target: string;
}

const MOST_KEY = 255;

function hash(text: string): string {
  return createHash("sha256").update(text).digest("hex");
}

/** Keys that the sender chose, hashed: any text is a good key. */
function keyOf(asked: Asked): string | undefined {
  const key = asked.header("idempotency-key");
  if (key === undefined) return undefined;
  if (key.length === 0 || key.length > MOST_KEY)
    throw new Problem("bad-request", `Idempotency-Key must have 1 to ${MOST_KEY} characters.`);
  return `idem/${asked.actor.id}/${hash(key)}`;
}

/** What the sender must repeat exactly. */
function fingerprintOf(asked: Asked): string {
  return createHash("sha256").update(`${asked.method} ${asked.address}\n`).update(asked.bytes).digest("hex");
}

async function replay(kept: KeptReply, asked: Asked): Promise<Reply> {
  if (kept.fingerprint !== fingerprintOf(asked))
    throw new Problem("key-used", "This Idempotency-Key came with another request before; use a new one.");
  // Its first answer may have been that nobody knew whether it is kept.
  await asked.services.store.sure();
  return { ...kept.reply, headers: { ...kept.reply.headers, "Idempotent-Replay": "true" } };
}

/** The answer that this very command got before: looked up first, because what has changed since would have it refused. */
export async function replayed(asked: Asked): Promise<Reply | undefined> {
  const key = keyOf(asked);
  const record = key === undefined ? undefined : await asked.services.store.get(key);
  return record && replay(JSON.parse(record.value) as KeptReply, asked);
}

/**
 * Does a command: one commit holds its effect, its audit entry and, under an idempotency key, its answer. So it is done wholly or not at all, and once, however
 * often it is sent. `work` may run several times and must only act on the transaction.
 */
export async function command(
  asked: Asked,
  action: string,
  target: string,
  work: (tx: Transaction) => Promise<Reply>,
): Promise<Reply> {
  const key = keyOf(asked);
  const { value } = await transact(asked.services.store, async (tx) => {
    const kept = key === undefined ? undefined : await tx.get<KeptReply>(key);
    if (kept) return replay(kept, asked);
    const reply = await work(tx);
    if (key !== undefined) tx.put(key, { fingerprint: fingerprintOf(asked), reply, at: asked.at } satisfies KeptReply);
    const entry: AuditRecord = {
      at: asked.at,
      by: asked.actor.id,
      name: asked.actor.name,
      action,
      target,
    };
    tx.put(`audit/${newId()}`, entry);
    return reply;
  });
  return value;
}

/** For commands that answer with a secret: their answers are not kept. */
export function mustHaveNoKey(asked: Asked): void {
  if (asked.header("idempotency-key") !== undefined)
    throw new Problem("bad-request", "This command takes no Idempotency-Key: its answer is a secret and is not kept.");
}
