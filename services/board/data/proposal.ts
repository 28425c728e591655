import { computed, signal } from "@preact/signals";
import type { Changes, DayDocuments, DocumentName, Happening, Happenings, Timetable } from "../../../schemas/index.js";
import { asItStands } from "../logic/as-it-stands.js";
import { changesBetween } from "../logic/changes.js";
import { instantText, MINUTE } from "../logic/clock.js";
import { withoutPins } from "../logic/pins.js";
import { readPlan } from "../logic/plan.js";
import { forcePlan, nowMs, opened, proposed, showsProposal, spoken } from "../state.js";
import { askNow, runWith } from "./jobs.js";
import { BoardError, type OpenDay, type OtherRepair } from "./types.js";
import { commit } from "./undo.js";

/** What has happened or is wanted, but is not yet part of the day. */
export const pending = signal<readonly Happening[]>([]);
export const working = signal(false);
export const proposalTrouble = signal<BoardError | undefined>(undefined);

export const proposedPlan = computed(() => {
  const day = opened.value;
  const proposal = proposed.value;
  return day && proposal ? readPlan(proposal.documents, proposal.timetable) : undefined;
});

/** The list that the planner reads before accepting. */
export const changes = computed(() => {
  const before = forcePlan.value;
  const after = proposedPlan.value;
  return before && after ? changesBetween(before, after) : undefined;
});

/** Whether the day was changed since: what the proposal would store knows nothing of that, and would take some of it back. */
export const isStale = computed((): boolean => {
  const versions = opened.value?.record.versions;
  const from = proposed.value?.from;
  if (!versions || !from) return false;
  const names = Object.keys({ ...from, ...versions }) as DocumentName[];
  return names.some((name) => versions[name] !== from[name]);
});

export function addPending(happening: Happening): void {
  const others =
    happening.kind === "hold"
      ? pending.value.filter((other) => !(other.kind === "hold" && other.task === happening.task))
      : pending.value;
  pending.value = [...others, happening];
  proposed.value = undefined;
}

export function removePending(index: number): void {
  pending.value = pending.value.filter((_, i) => i !== index);
  proposed.value = undefined;
}

interface Repaired {
  readonly timetable: Timetable;
  readonly happenings?: Happenings;
  readonly changes?: Changes;
  readonly second?: OtherRepair;
}

interface Refused {
  readonly refusals: readonly {
    readonly task: string;
    readonly rule: string;
    readonly message: string;
    readonly nearest: readonly string[];
  }[];
}

const SECONDS = 6;

/** Now, when now is part of the day. What has begun before it stays. */
function nowOf(day: OpenDay): string | undefined {
  const window = forcePlan.value?.span;
  const ms = Math.floor(nowMs.value / MINUTE) * MINUTE;
  if (!window || ms < window.fromMs || ms > window.toMs) return undefined;
  return instantText(day.documents.network.sites[0]!.timeZone, ms);
}

/** What the server says to the pending happenings; the stored day is not touched. */
async function ask(day: OpenDay): Promise<Repaired | Refused> {
  const told = pending.value.filter((happening) => happening.kind !== "hold");
  const wishes = pending.value.flatMap((happening) => {
    if (happening.kind !== "hold") return [];
    const { task, start, unit } = happening;
    return [{ task, start, ...(unit === undefined ? {} : { unit }) }];
  });
  // With what the stations marked, as the server itself would repair the day.
  const stands = await askNow<{ happenings: Happenings }>(day.id, "standing", {});
  // A task that is held anew is no longer held where it was.
  const known = withoutPins(
    stands.happenings,
    wishes.map(({ task }) => task),
  );
  const happenings = asItStands(known, told, nowOf(day));
  const documents = { ...day.documents, happenings, timetable: day.timetable };
  const job =
    wishes.length > 0
      ? await runWith<Repaired | Refused>("hold", documents, { seconds: SECONDS, tasks: wishes })
      : await runWith<Repaired>("repair", documents, { seconds: SECONDS });
  const answer = await job.done;
  return "refusals" in answer ? answer : { happenings, ...answer };
}

function refusal({ refusals }: Refused): BoardError {
  return new BoardError(
    "A wish cannot be met, whatever gives way.",
    "",
    409,
    refusals.map(({ rule, message, nearest }) => ({
      detail: `${rule}: ${message}`,
      ...(nearest.length > 0
        ? { fix: `Times near it that work: ${nearest.map((instant) => instant.slice(11, 16)).join(", ")}.` }
        : {}),
    })),
  );
}

/** Has the server repair the timetable around what happened. Nothing takes effect yet. */
export async function workOut(): Promise<void> {
  const day = opened.value;
  if (!day?.timetable || pending.value.length === 0) return;
  working.value = true;
  proposalTrouble.value = undefined;
  try {
    const answer = await ask(day);
    if ("refusals" in answer) throw refusal(answer);
    const documents: DayDocuments = { ...day.documents, happenings: answer.happenings! };
    proposed.value = {
      withHappenings: true,
      from: day.record.versions,
      documents,
      timetable: answer.timetable,
      ...(answer.changes ? { told: answer.changes } : {}),
      ...(answer.second ? { second: answer.second } : {}),
    };
    showsProposal.value = true;
    spoken.value = "The changes are listed beside the timetable.";
  } catch (error) {
    const known = error instanceof BoardError ? error : new BoardError((error as Error).message);
    proposalTrouble.value = known.isMissing ? new BoardError("This server cannot repair timetables.") : known;
  } finally {
    working.value = false;
  }
}

/** Takes the second choice instead of the first; asked again, the first again. */
export function takeOther(): void {
  const proposal = proposed.value;
  if (!proposal?.second) return;
  const { told, second, ...rest } = proposal;
  proposed.value = {
    ...rest,
    timetable: second.timetable,
    ...(second.changes ? { told: second.changes } : {}),
    second: {
      for: second.for === "fewer-moves" ? "less-late" : "fewer-moves",
      timetable: proposal.timetable,
      ...(told ? { changes: told } : {}),
    },
  };
}

/** From now on the proposed timetable is in force. */
export async function accept(): Promise<void> {
  const day = opened.value;
  const proposal = proposed.value;
  if (!day || !proposal || isStale.value) return;
  working.value = true;
  try {
    const { timetable, documents, withHappenings } = proposal;
    await commit(
      day,
      withHappenings ? { happenings: documents.happenings, timetable } : { timetable },
      withHappenings ? "changes accepted" : "drawn up anew",
    );
    proposed.value = undefined;
    pending.value = [];
    spoken.value = "Accepted. The new timetable is in force.";
  } catch (error) {
    proposalTrouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
  } finally {
    working.value = false;
  }
}

export function discard(): void {
  proposed.value = undefined;
  pending.value = [];
  proposalTrouble.value = undefined;
}
