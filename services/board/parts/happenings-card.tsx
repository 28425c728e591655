import { useSignal } from "@preact/signals";
import { mayPlan } from "../data/session.js";
import { BoardError } from "../data/types.js";
import { commit } from "../data/undo.js";
import { forcePlan, opened } from "../state.js";
import { Faults } from "./faults.js";
import { happeningText } from "./happening-text.js";

/** What the day knows of what was not planned; each can be taken back when it is over. */
export function HappeningsCard() {
  const trouble = useSignal<BoardError | undefined>(undefined);
  const day = opened.value;
  const plan = forcePlan.value;
  const list = day?.documents.happenings.happenings ?? [];
  if (!day || !plan || list.length === 0) return null;
  const takeBack = async (index: number): Promise<void> => {
    const happenings = { ...day.documents.happenings, happenings: list.filter((_, i) => i !== index) };
    try {
      await commit(day, { happenings }, "a happening taken back");
      trouble.value = undefined;
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
    }
  };
  return (
    <section class="card" aria-label="What has happened">
      <h2>What has happened</h2>
      {trouble.value && <Faults error={trouble.value} />}
      <ul class="pending">
        {list.map((happening, i) => (
          <li key={`${i} ${JSON.stringify(happening)}`}>
            <span>{happeningText(plan, happening)}</span>
            {mayPlan.value && (
              <button
                type="button"
                class="btn slim bare"
                aria-label={`It is over: ${happeningText(plan, happening)}`}
                onClick={() => void takeBack(i)}
              >
                ✕
              </button>
            )}
          </li>
        ))}
      </ul>
    </section>
  );
}
