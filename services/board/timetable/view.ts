import { computed, effect, signal } from "@preact/signals";
import { changes } from "../data/proposal.js";
import type { Span } from "../logic/clock.js";
import { wayOf } from "../logic/plan.js";
import { layRows } from "../logic/rows/layout.js";
import { stationRows } from "../logic/rows/stations.js";
import { framed, panned, within, zoomed } from "../logic/scale.js";
import { nowMs, plan, showsProposal } from "../state.js";

/** What is on the screen of the timetable: the span of time, what is unfolded, what is picked. */
export const shown = signal<Span>({ fromMs: 0, toMs: 1 });
export const picked = signal<string | undefined>(undefined);
export const unfolded = signal<ReadonlySet<string>>(new Set());
export const foldedSites = signal<ReadonlySet<string>>(new Set());
export const roomy = signal(1);
/** Tasks that a proposal moves; outlined while it is shown. */
export const marked = computed<ReadonlySet<string>>(() => {
  const list = showsProposal.value ? changes.value : undefined;
  return new Set(list?.loads.flatMap((load) => load.tasks.map((change) => change.after.id)));
});

export const day = computed<Span>(() => plan.value?.span ?? { fromMs: 0, toMs: 1 });
export const laid = computed(() => {
  const current = plan.value;
  if (!current) return { rows: [], height: 0 };
  return layRows(stationRows(current, unfolded.value, foldedSites.value), roomy.value);
});
export const pickedTask = computed(() => plan.value?.byId.get(picked.value ?? ""));
export const pickedLoad = computed(() => pickedTask.value?.load?.id);

/** A new day shows whole; a new timetable of the same day keeps the view. */
let lastDay = "";
effect(() => {
  const span = day.value;
  const key = `${span.fromMs} ${span.toMs}`;
  if (key === lastDay || span.toMs <= 1) return;
  lastDay = key;
  shown.value = span;
  picked.value = undefined;
});

export const canSeeNow = computed(() => nowMs.value >= day.value.fromMs && nowMs.value <= day.value.toMs);

export function zoom(factor: number, anchorMs?: number): void {
  const span = shown.value;
  shown.value = zoomed(span, factor, anchorMs ?? anchor(), day.value);
}

/** Buttons and keys zoom about what is picked, else about now, else about the middle. */
function anchor(): number {
  const span = shown.value;
  const task = pickedTask.value;
  const candidates = [task ? (task.fromMs + task.toMs) / 2 : undefined, nowMs.value];
  return (
    candidates.find((ms) => ms !== undefined && ms > span.fromMs && ms < span.toMs) ?? (span.fromMs + span.toMs) / 2
  );
}

export function pan(share: number): void {
  const span = shown.value;
  shown.value = panned(span, share * (span.toMs - span.fromMs), day.value);
}

export function showWhole(): void {
  shown.value = day.value;
}

export function showHours(hours: number, aroundMs?: number): void {
  const length = hours * 3_600_000;
  const centre = aroundMs ?? anchor();
  shown.value = within({ fromMs: centre - length / 2, toMs: centre + length / 2 }, day.value);
}

export function showNow(): void {
  if (canSeeNow.value) showHours(Math.min(4, (shown.value.toMs - shown.value.fromMs) / 3_600_000), nowMs.value);
}

export function frameWay(load: string): void {
  const way = plan.value ? wayOf(plan.value, load) : [];
  if (way.length === 0) return;
  const fromMs = Math.min(...way.map((task) => task.fromMs));
  const toMs = Math.max(...way.map((task) => task.toMs));
  shown.value = framed({ fromMs, toMs }, day.value);
}

/** Moves the view just enough that a task is on the screen. */
export function bringIntoView(task: Span): void {
  const span = shown.value;
  const length = span.toMs - span.fromMs;
  const margin = length * 0.06;
  if (task.fromMs < span.fromMs + margin) shown.value = panned(span, task.fromMs - span.fromMs - margin, day.value);
  else if (task.toMs > span.toMs - margin)
    shown.value = panned(span, Math.min(task.toMs - span.toMs + margin, task.fromMs - span.fromMs - margin), day.value);
}

function toggled(set: ReadonlySet<string>, id: string): ReadonlySet<string> {
  const next = new Set(set);
  if (!next.delete(id)) next.add(id);
  return next;
}

export function toggleRow(id: string, isSite: boolean): void {
  if (isSite) foldedSites.value = toggled(foldedSites.value, id);
  else unfolded.value = toggled(unfolded.value, id);
}
