import { signal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { mark } from "../data/marks.js";
import { instantText, MINUTE } from "../logic/clock.js";
import { unitName } from "../logic/plan.js";
import type { Card } from "../logic/station-card.js";
import { type Trouble, troubleNote } from "../logic/trouble.js";
import { forcePlan, nowMs, spoken } from "../state.js";

/** The card at which somebody pressed Trouble. */
export const troubleFor = signal<{ readonly card: Card; readonly isStarted: boolean } | undefined>(undefined);

const LOST = [1, 2, 5, 10];

/** Two taps: Trouble, then what it is. The planner sees it at once and repairs. */
export function TroubleDialog({ zone }: { zone: string }) {
  const dialog = useRef<HTMLDialogElement>(null);
  const trouble = troubleFor.value;
  useEffect(() => {
    if (trouble) dialog.current?.showModal();
  }, [trouble]);
  const close = (): void => {
    dialog.current?.close();
    troubleFor.value = undefined;
  };
  const current = forcePlan.value;
  const card = trouble?.card;
  const task = current?.byId.get(card?.task ?? "");
  const minute = Math.floor(nowMs.value / MINUTE) * MINUTE;
  const tell = (what: Trouble): void => {
    mark({ what: "trouble", task: card!.task!, at: instantText(zone, minute), note: troubleNote(what) });
    spoken.value = `Reported: ${troubleNote(what)}.`;
    close();
  };
  return (
    <dialog ref={dialog} class="ask trouble" aria-labelledby="trouble-title" onClose={close} onCancel={close}>
      {card && current && (
        <>
          <h2 id="trouble-title">
            Trouble: {card.verb.toLowerCase()} {card.what}
          </h2>
          <h3>{trouble.isStarted ? "It takes longer" : "It starts late"}</h3>
          <div class="trouble-row">
            {[5, 10, 20, 40].map((minutes) => (
              <button
                key={minutes}
                type="button"
                class="thumb"
                onClick={() => tell({ is: trouble.isStarted ? "longer" : "late", minutes })}
              >
                {minutes} min
              </button>
            ))}
          </div>
          {task?.load && (
            <>
              <h3>Pieces lost</h3>
              <div class="trouble-row">
                {LOST.filter((n) => n < task.load!.pieces).map((pieces) => (
                  <button key={pieces} type="button" class="thumb" onClick={() => tell({ is: "lost", pieces })}>
                    {pieces}
                  </button>
                ))}
                <button type="button" class="thumb odd" onClick={() => tell({ is: "spoiled" })}>
                  All spoiled
                </button>
              </div>
            </>
          )}
          {!task?.load && task?.batch && (
            <>
              <h3>Dough short</h3>
              <div class="trouble-row">
                {[1, 2, 5].map((kg) => (
                  <button key={kg} type="button" class="thumb" onClick={() => tell({ is: "short", kg })}>
                    {kg} kg
                  </button>
                ))}
                <button type="button" class="thumb odd" onClick={() => tell({ is: "spoiled" })}>
                  All spoiled
                </button>
              </div>
            </>
          )}
          {card.unit && (
            <>
              <h3>{unitName(current, card.unit)} does not work</h3>
              <div class="trouble-row">
                {[30, 60, 120].map((minutes) => (
                  <button key={minutes} type="button" class="thumb" onClick={() => tell({ is: "out", minutes })}>
                    {minutes < 60 ? `${minutes} min` : `${minutes / 60} h`}
                  </button>
                ))}
                <button type="button" class="thumb odd" onClick={() => tell({ is: "out" })}>
                  Not known
                </button>
              </div>
            </>
          )}
          <div class="trouble-row">
            <button type="button" class="thumb plain" onClick={close}>
              No trouble, back
            </button>
          </div>
        </>
      )}
    </dialog>
  );
}
