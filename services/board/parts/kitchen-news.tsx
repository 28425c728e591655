import type { Happening } from "../../../schemas/index.js";
import { heardMarks, type Mark } from "../data/marks.js";
import { addPending, pending, workOut } from "../data/proposal.js";
import { mayPlan } from "../data/session.js";
import { plan } from "../state.js";
import { happeningText } from "./happening-text.js";

const PLAIN = new Set(["started", "finished"]);

/** What the stations said since the page was opened; troubles can be worked in at once. */
export function KitchenNews() {
  const current = plan.value;
  const marks = [...heardMarks.value].reverse();
  if (!current || marks.length === 0) return null;
  const isTrouble = (mark: Mark): boolean => !PLAIN.has(mark.kind);
  const asked = new Set(pending.value.map((one) => JSON.stringify(one)));
  return (
    <section class="card news" aria-label="From the kitchen">
      <h2>From the kitchen</h2>
      <ul>
        {marks.slice(0, 8).map((mark, i) => (
          <li key={`${i} ${JSON.stringify(mark)}`} class={isTrouble(mark) ? "is-trouble" : ""}>
            <span>{happeningText(current, mark as unknown as Happening)}</span>
            {isTrouble(mark) && mayPlan.value && !asked.has(JSON.stringify(mark)) && (
              <button
                type="button"
                class="btn slim"
                onClick={() => {
                  addPending(mark as unknown as Happening);
                  void workOut();
                }}
              >
                Work it in
              </button>
            )}
          </li>
        ))}
      </ul>
      {marks.length > 8 && <p class="quiet small">and {marks.length - 8} before</p>}
    </section>
  );
}
