import { computed, signal } from "@preact/signals";
import { statesOf } from "../logic/kitchen-board.js";
import { Outbox, type Sent, type Waiting } from "../logic/outbox.js";
import type { Marked, Told } from "../logic/trouble.js";
import { opened } from "../state.js";
import { lifeOf } from "./days.js";
import { ask, sendJson } from "./http.js";
import type { BoardError } from "./types.js";

interface Addressed {
  readonly day: string;
  /** Marks that were kept by an older page have none. */
  readonly life?: number;
  readonly mark: Marked;
}

/** A mark that the server has. */
export interface HeardMark extends Told {
  readonly id: string;
  readonly by: string;
}

const KEEP = "deck-and-shelf.marks";

export const waitingMarks = signal<readonly Waiting<Addressed>[]>([]);
/** What the server has, in the order that it came in. */
export const heardMarks = signal<readonly HeardMark[]>([]);
export const isOnline = signal(true);

const at = (day: string): string => `/api/days/${encodeURIComponent(day)}/marks`;

export function hear(mark: HeardMark): void {
  const others = heardMarks.value;
  const isKnown = others.some(({ id }) => id === mark.id);
  heardMarks.value = isKnown ? others.map((known) => (known.id === mark.id ? mark : known)) : [...others, mark];
}

/** All marks of a day, when it is opened and after a broken line. */
export async function readMarks(day: string): Promise<void> {
  try {
    const { body } = await ask<{ marks: HeardMark[] }>(`${at(day)}?limit=5000`);
    if (opened.value?.id === day) heardMarks.value = body.marks;
  } catch (error) {
    if (!(error as BoardError).isMissing) throw error;
  }
}

function isOpen({ day, life }: Addressed): boolean {
  const open = opened.value;
  return open?.id === day && (life === undefined || lifeOf(open) === life);
}

async function send(item: Waiting<Addressed>): Promise<Sent> {
  const { day, life, mark } = item.what;
  const of = life === undefined ? "" : `?life=${life}`;
  try {
    const { body } = await sendJson<HeardMark>("POST", `${at(day)}${of}`, mark, { "idempotency-key": item.key });
    isOnline.value = true;
    if (isOpen(item.what)) hear(body);
    return { is: "taken" };
  } catch (error) {
    const known = error as BoardError;
    if (known.status === 0 || known.status >= 500 || known.status === 429) {
      isOnline.value = known.status !== 0;
      return { is: "unreachable" };
    }
    return { is: "refused", why: known.status === 405 ? "This server takes no marks." : known.message };
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

export function mark(what: Marked): void {
  const day = opened.value;
  if (!day) return;
  const addressed = { day: day.id, life: lifeOf(day), mark: what };
  outbox.add({ key: crypto.randomUUID(), at: new Date().toISOString(), what: addressed });
}

export function dropMark(key: string): void {
  outbox.drop(key);
}

export const flushMarks = (): Promise<void> => outbox.flush();

/** Takes a mark back that was a mistake. It stays on the server's list as set aside; one that waits is not sent. */
export async function takeBack({ id, key }: Told): Promise<void> {
  const day = opened.value;
  if (key !== undefined) outbox.drop(key);
  else if (day && id !== undefined) {
    const { body } = await sendJson<HeardMark>("DELETE", `${at(day.id)}/${id}`);
    if (opened.value?.id === day.id) hear(body);
  }
}

/** What was marked of the open day and counts, in order: what the server has, and what still waits to be sent. */
export const toldMarks = computed((): readonly Told[] => {
  return [
    ...heardMarks.value.filter(({ setAside }) => setAside === undefined),
    ...waitingMarks.value
      .filter((item) => isOpen(item.what) && item.refusal === undefined)
      .map((item) => ({ ...item.what.mark, key: item.key })),
  ];
});

/** How far each task is. */
export const taskStates = computed(() => statesOf(toldMarks.value));
