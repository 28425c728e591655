import { createHash, randomBytes, timingSafeEqual } from "node:crypto";
import { type Actor, type ActorLimits, DEFAULT_LIMITS, type Role } from "../api/actor.js";
import { newId } from "../ids.js";
import { Problem } from "../problem.js";
import type { Store } from "../store/store.js";
import type { Transaction } from "../store/transact.js";

/** A token as the store knows it: of the secret only its hash. */
export interface TokenRecord {
  readonly id: string;
  readonly name: string;
  readonly role: Role;
  /** Sites that it may act for; all when missing. */
  readonly sites?: readonly string[];
  readonly limits?: Partial<ActorLimits>;
  readonly hash: string;
  readonly createdAt: string;
  readonly rotatedAt?: string;
  readonly expiresAt?: string;
}

export type NewToken = Pick<TokenRecord, "name" | "role" | "sites" | "limits" | "expiresAt">;

const PREFIX = "ds";
const key = (id: string): string => `token/${id}`;

/** 256 bits of chance need no slow hash. */
function hashOf(secret: string): string {
  return createHash("sha256").update(secret).digest("hex");
}

function freshSecret(): string {
  return randomBytes(32).toString("base64url");
}

function textOf(id: string, secret: string): string {
  return `${PREFIX}_${id}_${secret}`;
}

/** What may be shown of a token. */
export function shownToken({ hash, ...rest }: TokenRecord): Omit<TokenRecord, "hash"> {
  return rest;
}

/** Makes a token inside a commit; the text is told once and kept nowhere. */
export function makeToken(tx: Transaction, fresh: NewToken, at: string): { record: TokenRecord; text: string } {
  const id = newId();
  const secret = freshSecret();
  const record: TokenRecord = { id, ...fresh, hash: hashOf(secret), createdAt: at };
  tx.expect(key(id), 0);
  tx.put(key(id), record);
  return { record, text: textOf(id, secret) };
}

/** A new secret for a token; the old one ends with the commit. */
export async function rotateToken(
  tx: Transaction,
  id: string,
  at: string,
): Promise<{ record: TokenRecord; text: string }> {
  const before = await tx.get<TokenRecord>(key(id));
  if (!before) throw new Problem("not-found", `There is no token ${id}.`);
  const secret = freshSecret();
  const record: TokenRecord = { ...before, hash: hashOf(secret), rotatedAt: at };
  tx.put(key(id), record);
  return { record, text: textOf(id, secret) };
}

export async function endToken(tx: Transaction, id: string): Promise<void> {
  if (!(await tx.get(key(id)))) throw new Problem("not-found", `There is no token ${id}.`);
  tx.delete(key(id));
}

export async function listTokens(store: Store): Promise<TokenRecord[]> {
  return (await store.list("token/", { limit: 10_000 })).map(({ value }) => JSON.parse(value) as TokenRecord);
}

/** Who a token's text stands for; undefined when it is nobody's, or over. */
export async function actorOf(store: Store, text: string, now: number): Promise<Actor | undefined> {
  const match = /^ds_([0-9a-z]{26})_([\w-]{43})$/.exec(text);
  if (!match) return undefined;
  const found = await store.get(key(match[1]!));
  if (!found) return undefined;
  const record = JSON.parse(found.value) as TokenRecord;
  if (!timingSafeEqual(Buffer.from(hashOf(match[2]!)), Buffer.from(record.hash))) return undefined;
  if (record.expiresAt !== undefined && now > Date.parse(record.expiresAt)) return undefined;
  const { id, name, role, sites } = record;
  return { id, name, role, limits: { ...DEFAULT_LIMITS, ...record.limits }, ...(sites ? { sites } : {}) };
}
