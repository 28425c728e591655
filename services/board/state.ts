import { computed, effect, signal } from "@preact/signals";
import type { OpenDay, Proposal } from "./data/types.js";
import { readPlan } from "./logic/plan.js";

/** What the pages share. One day is open at a time. */
export const route = signal(location.hash);
export const opened = signal<OpenDay | undefined>(undefined);
/** A timetable that has been worked out but is not in force. */
export const proposed = signal<Proposal | undefined>(undefined);
export const showsProposal = signal(true);

export const forcePlan = computed(() => {
  const day = opened.value;
  return day?.timetable ? readPlan(day.documents, day.timetable) : undefined;
});

/** The best timetable so far of the search that runs, and whether the planner looks at it. */
export const bestSoFar = signal<Pick<Proposal, "documents" | "timetable"> | undefined>(undefined);
export const showsBest = signal(true);

/** What is to be decided on, unless the planner looks back: the proposal while there is one, else what is in force. */
export const decidedPlan = computed(() => {
  const proposal = proposed.value;
  if (proposal && showsProposal.value) return readPlan(proposal.documents, proposal.timetable);
  return forcePlan.value;
});

/** Whether the timetable shows something that still improves: it can be looked at, not changed. */
export const isImproving = computed(
  () => bestSoFar.value !== undefined && (showsBest.value || decidedPlan.value === undefined),
);

/** What the timetable under Today shows. Other pages speak of what is in force. */
export const plan = computed(() => {
  const best = bestSoFar.value;
  return best && isImproving.value ? readPlan(best.documents, best.timetable) : decidedPlan.value;
});

addEventListener("hashchange", () => {
  route.value = location.hash;
});

export type Light = "light" | "dark" | "as-device";
const LIGHT_KEY = "deck-and-shelf.light";

function stored(): Light {
  const value = localStorage.getItem(LIGHT_KEY);
  return value === "light" || value === "dark" ? value : "as-device";
}

export const light = signal<Light>(stored());
const deviceIsDark = matchMedia("(prefers-color-scheme: dark)");
const deviceDark = signal(deviceIsDark.matches);
deviceIsDark.addEventListener("change", () => {
  deviceDark.value = deviceIsDark.matches;
});

/** While a page is printed it is whole and light: nothing is left out for the sake of scrolling. */
export const isPrinting = signal(false);
addEventListener("beforeprint", () => {
  isPrinting.value = true;
});
addEventListener("afterprint", () => {
  isPrinting.value = false;
});

export const isDark = computed(
  () => !isPrinting.value && (light.value === "as-device" ? deviceDark.value : light.value === "dark"),
);

// At once, not with the next frame: a printer does not wait for one.
effect(() => {
  document.documentElement.dataset.light = isDark.value ? "dark" : "light";
});

export function setLight(next: Light): void {
  light.value = next;
  if (next === "as-device") localStorage.removeItem(LIGHT_KEY);
  else localStorage.setItem(LIGHT_KEY, next);
}

/** Said aloud by screen readers. */
export const spoken = signal("");

/** The clock of the pages: ticks every 20 s. `?now=` in the address stands still there, for looking at a night at noon. */
const fixed = new URLSearchParams(location.search).get("now");
export const nowMs = signal(fixed ? Date.parse(fixed) : Date.now());
if (!fixed)
  setInterval(() => {
    nowMs.value = Date.now();
  }, 20_000);
