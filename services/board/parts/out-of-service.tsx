import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { addPending, workOut } from "../data/proposal.js";
import { HOUR, instantText } from "../logic/clock.js";
import { unitName, zoneOf } from "../logic/plan.js";
import { nowMs, plan } from "../state.js";
import { outOfServiceUnit } from "../timetable/out-of-service-state.js";
import { canSeeNow, pickedTask } from "../timetable/view.js";
import { TextField } from "./field.js";
import { WhenField } from "./when-field.js";

/** Takes a unit out of service from a time to a time, on the clock of its site. */
export function OutOfServiceDialog() {
  const dialog = useRef<HTMLDialogElement>(null);
  const fromMs = useSignal(0);
  const toMs = useSignal(0);
  const openEnded = useSignal(false);
  const note = useSignal("");
  const unit = outOfServiceUnit.value;
  const current = plan.value;
  const zone = current ? zoneOf(current, unit?.split("/")[0] ?? "") : "UTC";
  useEffect(() => {
    if (!unit || !current) return;
    const picked = pickedTask.value?.task.unit === unit ? pickedTask.value.fromMs : undefined;
    const uses = current.tasks.filter(
      (task) => task.task.unit === unit || task.task.places?.some((place) => place.unit.startsWith(unit)),
    );
    fromMs.value = canSeeNow.value
      ? Math.floor(nowMs.value / 60_000) * 60_000
      : (picked ?? uses[0]?.fromMs ?? current.span.fromMs);
    toMs.value = Math.min(fromMs.value + 2 * HOUR, current.span.toMs);
    openEnded.value = false;
    note.value = "";
    dialog.current?.showModal();
  }, [unit]);
  const close = (): void => {
    dialog.current?.close();
    outOfServiceUnit.value = undefined;
  };
  if (!current) return null;
  const trouble =
    !openEnded.value && toMs.value <= fromMs.value ? "It must be back later than it goes out." : undefined;
  const touched = current.tasks.filter(
    (task) =>
      (task.task.unit === unit ||
        task.task.places?.some((place) => place.unit === unit || place.unit.startsWith(`${unit}/`))) &&
      task.toMs > fromMs.value &&
      (openEnded.value || task.fromMs < toMs.value),
  ).length;
  return (
    <dialog ref={dialog} class="ask" aria-labelledby="out-title" onClose={close} onCancel={close}>
      <form
        method="dialog"
        onSubmit={(event) => {
          event.preventDefault();
          if (trouble || !unit) return;
          addPending({
            kind: "out-of-service",
            unit,
            from: instantText(zone, fromMs.value),
            ...(openEnded.value ? {} : { to: instantText(zone, toMs.value) }),
            ...(note.value.trim() ? { note: note.value.trim() } : {}),
          });
          close();
          void workOut();
        }}
      >
        <h2 id="out-title">{unitName(current, unit)} out of service</h2>
        {unit && (
          <>
            <WhenField
              label="From"
              zone={zone}
              span={current.span}
              ms={fromMs.value}
              onChange={(ms) => {
                fromMs.value = ms;
              }}
            />
            <WhenField
              label="Back in service"
              zone={zone}
              span={current.span}
              ms={toMs.value}
              disabled={openEnded.value}
              onChange={(ms) => {
                toMs.value = ms;
              }}
            />
          </>
        )}
        <div class="ask-row">
          {[1, 2, 4].map((hours) => (
            <button
              key={hours}
              type="button"
              class="btn slim"
              onClick={() => {
                toMs.value = fromMs.value + hours * HOUR;
                openEnded.value = false;
              }}
            >
              for {hours} h
            </button>
          ))}
          <button
            type="button"
            class="btn slim"
            aria-pressed={openEnded.value}
            onClick={() => {
              openEnded.value = !openEnded.value;
            }}
          >
            until further notice
          </button>
        </div>
        <TextField
          label="Note (may be left empty)"
          value={note.value}
          maxLength={100}
          onValue={(text) => {
            note.value = text;
          }}
        />
        <p class="small quiet">
          Clock of {zone}.{" "}
          {touched === 0
            ? "No task is on it then."
            : `${touched} ${touched === 1 ? "task is" : "tasks are"} on it then.`}{" "}
          Nothing takes effect until you accept the changes.
        </p>
        {trouble && <p class="note warn">{trouble}</p>}
        <div class="ask-row end">
          <button type="button" class="btn" onClick={close}>
            Leave it in service
          </button>
          <button type="submit" class="btn main" disabled={trouble !== undefined}>
            Show the changes
          </button>
        </div>
      </form>
    </dialog>
  );
}
