import { signal } from "@preact/signals";
import type { Timetable } from "../../../schemas/index.js";
import { withoutPins } from "../logic/pins.js";
import { bestSoFar, opened, proposed, showsBest, showsProposal, spoken } from "../state.js";
import { openDay } from "./days.js";
import { joinRun, type Listener, type Run, run } from "./jobs.js";
import { BoardError, type DrawNews, type OpenDay } from "./types.js";
import { commit } from "./undo.js";

export interface RunningDraw {
  readonly day: string;
  readonly seconds: number;
  readonly news: readonly DrawNews[];
  readonly isStopping: boolean;
  /** How many better timetables have come in. */
  readonly shown: number;
}

interface Drawn {
  readonly timetable: Timetable;
  readonly givenUp?: readonly string[];
}

type DrawRun = Run<Drawn>;

/** The search that runs, if one does. */
const search = signal<RunningDraw | undefined>(undefined);
export const drawTrouble = signal<BoardError | undefined>(undefined);
let current: DrawRun | undefined;

/** Reads the search of the open day. */
export const running = {
  get value(): RunningDraw | undefined {
    const { value } = search;
    return value && value.day === opened.value?.id ? value : undefined;
  },
};

/** The search of this page goes on when the page is loaded again. */
const KEEP = "deck-and-shelf.search";

interface KeptSearch {
  readonly day: string;
  readonly job: string;
  readonly seconds: number;
}

function listenerFor(day: OpenDay): Listener {
  const isOpen = (): boolean => opened.value?.id === day.id;
  return {
    onNews: (news) => {
      if (search.value) search.value = { ...search.value, news: [...search.value.news, news] };
    },
    onTimetable: (timetable) => {
      if (!search.value || !isOpen()) return;
      search.value = { ...search.value, shown: search.value.shown + 1 };
      bestSoFar.value = { documents: day.documents, timetable };
    },
  };
}

/** Somebody may have changed the day while the search ran: the newest record counts, the server checks the rest. */
async function bringIn(id: string, { timetable, givenUp = [] }: Drawn): Promise<void> {
  const newest = await openDay(id);
  if (newest.timetable === undefined) {
    await commit(newest, { timetable }, "drawn up");
    spoken.value = "The timetable is in force.";
  } else if (opened.value?.id === id) {
    opened.value = newest;
    const { documents, record } = newest;
    const happenings = withoutPins(documents.happenings, givenUp);
    proposed.value = {
      withHappenings: givenUp.length > 0,
      from: record.versions,
      documents: { ...documents, happenings },
      timetable,
      letGo: givenUp,
    };
    showsProposal.value = true;
    spoken.value = "A new timetable is shown beside what changes. It is not in force until you accept it.";
  }
}

async function followSearch(
  day: OpenDay,
  seconds: number,
  begin: (listener: Listener) => Promise<DrawRun>,
): Promise<void> {
  drawTrouble.value = undefined;
  bestSoFar.value = undefined;
  showsBest.value = true;
  search.value = { day: day.id, seconds, news: [], isStopping: false, shown: 0 };
  try {
    current = await begin(listenerFor(day));
    sessionStorage.setItem(KEEP, JSON.stringify({ day: day.id, job: current.job, seconds } satisfies KeptSearch));
    await bringIn(day.id, await current.done);
  } catch (error) {
    drawTrouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
  } finally {
    sessionStorage.removeItem(KEEP);
    search.value = undefined;
    bestSoFar.value = undefined;
    current = undefined;
  }
}

/** Draws the day up. The first timetable is in force at once; a later one is a proposal until it is accepted. */
export async function startDrawing(seconds: number): Promise<void> {
  const day = opened.value;
  if (!day) return;
  if (search.value) {
    const other = search.value.day.replaceAll("-", " ");
    drawTrouble.value = new BoardError(`A search for ${other} still runs.`, "Wait for its end, or stop it there.");
    return;
  }
  await followSearch(day, seconds, (listener) => run(day.id, "draw", { seconds }, listener));
}

/** Takes up the search that ran when the page was left or loaded again. */
export async function resumeDrawing(): Promise<void> {
  const day = opened.value;
  if (search.value && search.value.day !== day?.id) bestSoFar.value = undefined;
  const text = sessionStorage.getItem(KEEP);
  if (!day || search.value || text === null) return;
  const kept = JSON.parse(text) as KeptSearch;
  if (kept.day === day.id)
    await followSearch(day, kept.seconds, (listener) => Promise.resolve(joinRun(kept.job, listener)));
}

export async function stopAndKeep(): Promise<void> {
  if (!search.value || !current) return;
  search.value = { ...search.value, isStopping: true };
  await current.stop();
}
