import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { makeDay, openDay } from "../data/days.js";
import { days, showNewDay } from "../data/open-days.js";
import { BoardError, type OpenDay } from "../data/types.js";
import { dayText, hhmm } from "../logic/clock.js";
import { dateAfter, dateOf, dateText, dayFor, dayName, freeId, linesFor, windowOf, zoneAt } from "../logic/new-day.js";
import { spoken } from "../state.js";
import { Faults } from "./faults.js";
import { ChoiceField, Field, TextField } from "./field.js";
import { KeptAsField } from "./kept-as-field.js";

interface Form {
  readonly date: string;
  readonly name: string;
  readonly id: string;
}

/** What a date suggests. */
function formFor(date: string): Form {
  const taken = days.value.map(({ id }) => id);
  return { date, name: dateText(date), id: freeId(date, taken) };
}

/** The next date that no day is kept under. */
function nextDate(kitchen: OpenDay): string {
  const taken = new Set(days.value.map(({ id }) => id.slice(0, 10)));
  for (let date = dateAfter(dateOf(kitchen.documents), 1); ; date = dateAfter(date, 1))
    if (!taken.has(date)) return date;
}

/** Begins another day of the same kitchen: no orders yet, or those of a day. */
export function NewDayDialog({ kitchen, onClose }: { kitchen: OpenDay; onClose: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  const form = useSignal(formFor(nextDate(kitchen)));
  const ordersOf = useSignal("");
  const trouble = useSignal<BoardError | undefined>(undefined);
  const isMaking = useSignal(false);
  useEffect(() => {
    dialog.current?.showModal();
  }, []);
  const { date, name, id } = form.value;
  // While a year is being typed it is none that clocks know.
  const preview = !/^20\d\d-/.test(date) ? undefined : dayFor(kitchen.documents, date, name, []);
  const stillOut = preview?.happenings.happenings.length ?? 0;
  const zone = zoneAt(kitchen.documents);
  const whenText = (ms: number): string => `${dayText(zone, ms)} ${hhmm(zone, ms)}`;
  const set = (more: Partial<Form>): void => {
    form.value = { ...form.value, ...more };
  };
  const begin = async (): Promise<void> => {
    isMaking.value = true;
    trouble.value = undefined;
    try {
      const from = ordersOf.value === "" ? undefined : await openDay(ordersOf.value);
      const lines = from ? linesFor(from.documents, date) : [];
      await makeDay(id, dayFor(kitchen.documents, date, name, lines), `begun from ${kitchen.id}`);
      await showNewDay(id, "#/orders");
      spoken.value = `${name} is begun, with ${lines.length} order lines.`;
      dialog.current?.close();
    } catch (error) {
      const known = error instanceof BoardError ? error : new BoardError((error as Error).message);
      trouble.value =
        known.status === 412
          ? new BoardError(`There is a day kept as ${id} already.`, "Keep this one under another name.")
          : known;
    } finally {
      isMaking.value = false;
    }
  };
  return (
    <dialog ref={dialog} class="ask" aria-labelledby="new-day-title" onClose={onClose}>
      <form
        method="dialog"
        onSubmit={(event) => {
          event.preventDefault();
          void begin();
        }}
      >
        <h2 id="new-day-title">New day</h2>
        <div class="ask-row">
          <Field label="Date">
            <input
              type="date"
              required
              min="2000-01-01"
              max="2099-12-31"
              value={date}
              onInput={(event) => {
                const { value } = event.currentTarget;
                if (/^20\d\d-/.test(value)) form.value = formFor(value);
                else set({ date: value });
              }}
            />
          </Field>
          <ChoiceField
            label="Orders"
            value={ordersOf.value}
            options={[
              { value: "", text: "none yet" },
              ...days.value.map((day) => ({ value: day.id, text: `as on ${dayName(day.id)}` })),
            ]}
            onValue={(value) => {
              ordersOf.value = value;
            }}
          />
        </div>
        <div class="ask-row">
          <TextField label="Name" required maxLength={120} value={name} onValue={(value) => set({ name: value })} />
          <KeptAsField value={id} onValue={(value) => set({ id: value })} />
        </div>
        <p class="small quiet">
          The kitchen and settings of {dayName(kitchen.id)}
          {preview && (
            <>
              , from {whenText(windowOf(preview).fromMs)} to {whenText(windowOf(preview).toMs)}
            </>
          )}
          .{" "}
          {stillOut === 0
            ? "Nothing has happened on it yet."
            : `What is still out of order by then stays so (${stillOut}).`}
          {ordersOf.value !== "" && " Orders are due at the same times of the day."}
        </p>
        {trouble.value && <Faults error={trouble.value} />}
        <div class="ask-row end">
          <button type="button" class="btn" onClick={() => dialog.current?.close()}>
            Leave it
          </button>
          <button type="submit" class="btn main" disabled={isMaking.value}>
            {isMaking.value ? "Checking…" : "Begin the day"}
          </button>
        </div>
      </form>
    </dialog>
  );
}
