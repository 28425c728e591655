import { computed, signal } from "@preact/signals";
import { statesOf } from "../logic/kitchen.js";
import { Outbox, type Sent, type Waiting } from "../logic/outbox.js";
import { opened, plan } from "../state.js";
import { sendJson } from "./http.js";
import type { BoardError } from "./types.js";

/** What a station says: a happening about a task or a unit. */
export interface Mark {
  readonly kind: string;
  readonly task?: string;
  readonly [more: string]: unknown;
}

interface Addressed {
  readonly day: string;
  readonly mark: Mark;
}

const KEEP = "deck-and-shelf.marks";

export const waitingMarks = signal<readonly Waiting<Addressed>[]>([]);
/** Marks that the server has, and those that it will get. */
export const heardMarks = signal<readonly Mark[]>([]);
export const isOnline = signal(true);

async function send(item: Waiting<Addressed>): Promise<Sent> {
  const { day, mark } = item.what;
  try {
    await sendJson("POST", `/api/days/${encodeURIComponent(day)}/marks`, mark, { "idempotency-key": item.key });
    isOnline.value = true;
    heardMarks.value = [...heardMarks.value, mark];
    return { is: "taken" };
  } catch (error) {
    const known = error as BoardError;
    if (known.status === 0 || known.status >= 500 || known.status === 429) {
      isOnline.value = known.status !== 0;
      return { is: "unreachable" };
    }
    return { is: "refused", why: known.isMissing ? "This server takes no marks." : known.message };
  }
}

const outbox = new Outbox<Addressed>(
  { read: () => localStorage.getItem(KEEP), write: (text) => localStorage.setItem(KEEP, text) },
  send,
  (items) => {
    waitingMarks.value = items;
  },
);
waitingMarks.value = outbox.waiting;
addEventListener("online", () => void outbox.flush());
setInterval(() => void outbox.flush(), 5000);

export function mark(what: Mark): void {
  const day = opened.value?.id;
  if (day === undefined) return;
  outbox.add({ key: crypto.randomUUID(), at: new Date().toISOString(), what: { day, mark: what } });
}

export function dropMark(key: string): void {
  outbox.drop(key);
}

export const flushMarks = (): Promise<void> => outbox.flush();

/** How far each task is by what was marked: what is part of the day, what came since, what still waits to be sent. */
export const taskStates = computed(() => {
  const day = opened.value;
  return statesOf([
    ...((plan.value?.day.happenings.happenings ?? []) as unknown as Mark[]),
    ...heardMarks.value,
    ...waitingMarks.value
      .filter((item) => item.what.day === day?.id && item.refusal === undefined)
      .map((item) => item.what.mark),
  ]);
});
