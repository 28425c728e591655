import { mayPlan } from "../data/session.js";
import { LookOnly } from "./look-only.js";

interface Props {
  /** What is not saved yet. */
  readonly text: string;
  readonly save: string;
  readonly isSaving: boolean;
  readonly onSave: () => void;
  readonly onDrop: () => void;
}

/** Says what is not saved yet, and saves or drops it. */
export function DraftBar({ text, save, isSaving, onSave, onDrop }: Props) {
  return (
    <div class="note warn draft-bar">
      <span>Not saved yet: {text}.</span>
      <button type="button" class="btn main slim" disabled={isSaving || !mayPlan.value} onClick={onSave}>
        {isSaving ? "Checking…" : save}
      </button>
      <button type="button" class="btn slim" onClick={onDrop}>
        Drop the changes
      </button>
      <LookOnly does="saves" />
    </div>
  );
}
