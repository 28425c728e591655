import { signal } from "@preact/signals";
import type { Timetable } from "../../../schemas/index.js";
import { opened, proposed, showsProposal, spoken } from "../state.js";
import { openDay } from "./days.js";
import { type Run, run } from "./jobs.js";
import { BoardError, type DrawNews } from "./types.js";
import { commit } from "./undo.js";

export interface RunningDraw {
  readonly seconds: number;
  readonly news: readonly DrawNews[];
  readonly isStopping: boolean;
}

/** The search that runs for the open day, if one does. */
export const running = signal<RunningDraw | undefined>(undefined);
export const drawTrouble = signal<BoardError | undefined>(undefined);
let current: Run<{ timetable: Timetable }> | undefined;

/** Draws the day up. The first timetable is in force at once; a later one is a proposal until it is accepted. */
export async function startDrawing(seconds: number): Promise<void> {
  const day = opened.value;
  if (!day || running.value) return;
  drawTrouble.value = undefined;
  running.value = { seconds, news: [], isStopping: false };
  try {
    current = await run<{ timetable: Timetable }>(
      day.id,
      "draw",
      { seconds },
      {
        onNews: (news) => {
          if (running.value) running.value = { ...running.value, news: [...running.value.news, news] };
        },
      },
    );
    const { timetable } = await current.done;
    // Somebody may have changed the day while the search ran: the newest record counts, the server checks the rest.
    const newest = await openDay(day.id);
    if (newest.timetable === undefined) {
      await commit(newest, { timetable }, "drawn up");
      spoken.value = "The timetable is in force.";
    } else {
      opened.value = newest;
      proposed.value = { withHappenings: false, documents: newest.documents, timetable };
      showsProposal.value = true;
      spoken.value = "A new timetable is shown beside what changes. It is not in force until you accept it.";
    }
  } catch (error) {
    drawTrouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
  } finally {
    running.value = undefined;
    current = undefined;
  }
}

export async function stopAndKeep(): Promise<void> {
  if (!running.value || !current) return;
  running.value = { ...running.value, isStopping: true };
  await current.stop();
}
