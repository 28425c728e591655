import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { linesAsTold } from "../../../solver/problem/told.js";
import { deleteOpenDay } from "../data/deleting.js";
import { orderDraft, setUpDraft } from "../data/drafts.js";
import { heardMarks } from "../data/marks.js";
import { days } from "../data/open-days.js";
import { BoardError, type OpenDay } from "../data/types.js";
import { dayTime } from "../logic/clock.js";
import { dayName, windowOf, zoneAt } from "../logic/new-day.js";
import { nowMs, spoken } from "../state.js";
import { giveAll } from "./export-choice.js";
import { Faults } from "./faults.js";

function counted(count: number, one: string, many: string): string {
  return `${count.toLocaleString("en-GB")} ${count === 1 ? one : many}`;
}

/** What goes with the day. */
function lossesOf(day: OpenDay): string[] {
  const pieces = linesAsTold(day.documents).reduce((sum, line) => sum + line.pieces, 0);
  const happened = day.documents.happenings.happenings.length;
  const isTyped = orderDraft(day.id).value !== undefined || Object.keys(setUpDraft(day.id).value).length > 0;
  return [
    `${counted(linesAsTold(day.documents).length, "order line", "order lines")}, ${counted(pieces, "piece", "pieces")}`,
    day.timetable ? `the timetable in force, ${counted(day.timetable.tasks.length, "task", "tasks")}` : "",
    happened > 0 ? `what has happened and what is pinned (${happened})` : "",
    heardMarks.value.length > 0 ? `what the stations marked (${heardMarks.value.length})` : "",
    isTyped ? "what is typed and not saved yet" : "",
    "the kitchen and the settings as this day has them",
  ].filter((loss) => loss !== "");
}

/** Asks before a day is deleted: names it and what is lost, and offers its files first. */
export function DeleteDayDialog({ day, onClose }: { day: OpenDay; onClose: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  const keep = useRef<HTMLButtonElement>(null);
  const trouble = useSignal<BoardError | undefined>(undefined);
  const isDeleting = useSignal(false);
  useEffect(() => {
    dialog.current?.showModal();
    keep.current?.focus();
  }, []);
  const name = dayName(day.id);
  const span = windowOf(day.documents);
  const zone = zoneAt(day.documents);
  const isOn = day.timetable !== undefined && nowMs.value >= span.fromMs && nowMs.value < span.toMs;
  const run = async (): Promise<void> => {
    isDeleting.value = true;
    trouble.value = undefined;
    try {
      await deleteOpenDay(day);
      spoken.value = `${name} is deleted. It can be brought back as long as this page stays open.`;
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
      isDeleting.value = false;
    }
  };
  return (
    <dialog ref={dialog} class="ask" aria-labelledby="delete-title" onClose={onClose}>
      <form
        method="dialog"
        onSubmit={(event) => {
          event.preventDefault();
          void run();
        }}
      >
        <h2 id="delete-title">Delete {name}?</h2>
        <p>
          <b>{day.documents.settings.name}</b>, {dayTime(zone, span.fromMs)} to {dayTime(zone, span.toMs)}. Deleted with
          it:
        </p>
        <ul class="losses">
          {lossesOf(day).map((loss) => (
            <li key={loss}>{loss}</li>
          ))}
        </ul>
        {isOn && (
          <p class="note alarm">
            <b>The kitchen works by this day now.</b> The stations' screens lose it.
          </p>
        )}
        {days.value.length === 1 && <p class="note warn">It is the only day here; the kitchen goes with it.</p>}
        <p class="small quiet">
          It can be brought back as long as this page stays open; afterwards only from its files.{" "}
          <button type="button" class="btn slim" onClick={() => giveAll(day)}>
            Save its files first
          </button>
        </p>
        {trouble.value && <Faults error={trouble.value} />}
        <div class="ask-row end">
          <button ref={keep} type="button" class="btn main" onClick={() => dialog.current?.close()}>
            Keep it
          </button>
          <button type="submit" class="btn" disabled={isDeleting.value}>
            {isDeleting.value ? "Deleting…" : `Delete ${name}`}
          </button>
        </div>
      </form>
    </dialog>
  );
}
