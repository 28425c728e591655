import { useSignal } from "@preact/signals";
import { drawTrouble, running, startDrawing } from "../data/drawing.js";
import { mayPlan } from "../data/session.js";
import { LookOnly } from "./look-only.js";
import { SecondsChoice } from "./seconds-choice.js";

interface Props {
  readonly lines: number;
  /** Something is typed that is not saved yet. */
  readonly isDraft: boolean;
  /** False: it was refused. */
  readonly save: () => Promise<boolean>;
}

/** Before a day has a timetable: says so, and draws it up from here. */
export function DrawFirst({ lines, isDraft, save }: Props) {
  const seconds = useSignal(10);
  const draw = async (): Promise<void> => {
    if (!(await save())) return;
    void startDrawing(seconds.value);
    location.hash = "#/today";
  };
  if (running.value)
    return (
      <p class="note">
        The day is being drawn up. <a href="#/today">See how far it is under Today.</a>
      </p>
    );
  return (
    <div class="note draw-first">
      <span>
        No timetable yet.{" "}
        {lines === 0
          ? "With orders the day can be drawn up."
          : "When the day is drawn up, each line tells how it fares, where it is made and what it rides on."}
      </span>
      {lines > 0 && mayPlan.value && (
        <span class="draw-first-do">
          <SecondsChoice
            label="Search for"
            seconds={seconds.value}
            of={[5, 10, 30, 120, 600]}
            onSeconds={(value) => {
              seconds.value = value;
            }}
          />
          <button type="button" class="btn main slim" onClick={() => void draw()}>
            {isDraft ? "Save and draw up" : "Draw up"}
          </button>
        </span>
      )}
      {lines > 0 && <LookOnly does="draws up" />}
      {drawTrouble.value && (
        <span role="alert">
          {drawTrouble.value.message} {drawTrouble.value.fix}
        </span>
      )}
    </div>
  );
}
