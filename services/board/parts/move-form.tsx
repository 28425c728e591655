import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { addPending, workOut } from "../data/proposal.js";
import { clockFace, instantText, nearestInstant } from "../logic/clock.js";
import { DOES, unitName, zoneOf } from "../logic/plan.js";
import { unitsFor } from "../logic/units.js";
import { plan } from "../state.js";
import { forgetTrial, trial, tryMove } from "../timetable/drag.js";
import { pickedTask } from "../timetable/view.js";
import { ChoiceField } from "./field.js";
import { VerdictNote } from "./verdict.js";

/** A time and a unit for the picked task, typed; or where it was dragged to. Says at once what the rules say. */
export function MoveForm() {
  const current = plan.value!;
  const task = pickedTask.value!;
  const zone = zoneOf(current, task.site);
  const units = unitsFor(current, task.task);
  const own = trial.value?.move.task === task.id ? trial.value : undefined;
  const text = useSignal(clockFace(zone, own?.move.startMs ?? task.fromMs));
  const startMs = own?.move.startMs ?? task.fromMs;
  const unit = own?.move.unit ?? task.task.unit ?? "";
  useEffect(() => {
    text.value = clockFace(zone, startMs);
  }, [startMs, task.id]);

  const retryAt = (ms: number, where: string): void =>
    void tryMove({ task: task.id, startMs: ms, ...(where === task.task.unit ? {} : { unit: where }) });
  const retry = (time: string, where: string): void => {
    const typed = nearestInstant(zone, time, task.fromMs, current.span);
    if (typed !== undefined) retryAt(typed, where);
  };
  const nudge = (minutes: number): void => retryAt(startMs + minutes * 60_000, unit);
  const verdict = own?.verdict;
  const isElsewhere = own !== undefined && (startMs !== task.fromMs || unit !== task.task.unit);
  const hold = (): void => {
    addPending({
      kind: "hold",
      task: task.id,
      start: instantText(zone, startMs),
      ...(unit === task.task.unit ? {} : { unit }),
    });
    forgetTrial();
    void workOut();
  };
  const isTyped = nearestInstant(zone, text.value, task.fromMs, current.span) !== undefined;
  return (
    <form
      class="move"
      aria-label={`Move the ${DOES[task.task.does].toLowerCase()}`}
      onSubmit={(event) => {
        event.preventDefault();
        if (isElsewhere && verdict && verdict.is !== "refused") hold();
      }}
    >
      <div class="move-fields">
        <label class="field">
          {DOES[task.task.does]} starts
          <span class="nudge">
            <button type="button" class="btn slim square" aria-label="5 minutes earlier" onClick={() => nudge(-5)}>
              −5
            </button>
            <input
              class="entry"
              inputMode="numeric"
              size={5}
              value={text.value}
              aria-invalid={!isTyped}
              onInput={(event) => {
                text.value = event.currentTarget.value;
                retry(text.value, unit);
              }}
            />
            <button type="button" class="btn slim square" aria-label="5 minutes later" onClick={() => nudge(5)}>
              +5
            </button>
          </span>
        </label>
        {units.length > 1 && (
          <ChoiceField
            label="on"
            value={unit}
            options={units.map((ref) => ({ value: ref, text: unitName(current, ref) }))}
            onValue={(ref) => retry(text.value, ref)}
          />
        )}
      </div>
      {!isTyped && <p class="note warn small">Give a time of this day such as 04:10.</p>}
      {isElsewhere && verdict && <VerdictNote plan={current} verdict={verdict} site={task.site} />}
      {isElsewhere && (
        <div class="move-do">
          <button type="submit" class="btn main slim" disabled={!verdict || verdict.is === "refused"}>
            Hold it there
          </button>
          <button type="button" class="btn slim" onClick={forgetTrial}>
            Leave it
          </button>
        </div>
      )}
    </form>
  );
}
