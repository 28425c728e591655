import type { Happening } from "../../../schemas/index.js";
import { type HeardMark, heardMarks } from "../data/marks.js";
import { addPending, pending, workOut } from "../data/proposal.js";
import { mayPlan } from "../data/session.js";
import { inOwnWords, isAmong } from "../logic/as-it-stands.js";
import { hhmm, msOf } from "../logic/clock.js";
import { DOES, type Plan, whatOf, zoneOf } from "../logic/plan.js";
import { forcePlan, isPrinting } from "../state.js";
import { pick } from "../timetable/keys.js";

const SHOWN = 8;

function News({ current, mark, asked }: { current: Plan; mark: HeardMark; asked: readonly Happening[] }) {
  const task = current.byId.get(mark.task);
  const zone = zoneOf(current, task?.site ?? "");
  const happening = mark.what === "trouble" && mark.happening ? inOwnWords(mark.happening) : undefined;
  return (
    <li class={mark.what === "trouble" ? "is-trouble" : ""}>
      <button type="button" class="linkish" onClick={() => pick(mark.task)}>
        <b>{hhmm(zone, msOf(mark.at))}</b>{" "}
        {task ? `${DOES[task.task.does].toLowerCase()} of ${whatOf(current, task)}` : mark.task}{" "}
        <b>{mark.what === "trouble" ? (mark.note ?? "trouble") : mark.what}</b>{" "}
        <span class="quiet">{mark.by === "local" ? "" : mark.by}</span>
      </button>
      {happening && mayPlan.value && !isAmong(happening, asked) && (
        <button
          type="button"
          class="btn slim"
          onClick={() => {
            addPending(happening);
            void workOut();
          }}
        >
          Work it in
        </button>
      )}
    </li>
  );
}

/** What the stations say, the newest first; troubles can be worked in at once. */
export function KitchenNews() {
  const current = forcePlan.value;
  const marks = heardMarks.value.filter(({ setAside }) => setAside === undefined).reverse();
  if (!current || marks.length === 0) return null;
  const shown = isPrinting.value ? marks.length : SHOWN;
  const asked = [...pending.value, ...current.day.happenings.happenings];
  return (
    <section class="card news" aria-label="From the kitchen">
      <h2>From the kitchen</h2>
      <ul>
        {marks.slice(0, shown).map((mark) => (
          <News key={mark.id} current={current} mark={mark} asked={asked} />
        ))}
      </ul>
      {marks.length > shown && <p class="quiet small">and {marks.length - shown} before</p>}
    </section>
  );
}
