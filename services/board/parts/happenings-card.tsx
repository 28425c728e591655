import { useSignal } from "@preact/signals";
import type { Happening } from "../../../schemas/index.js";
import { setPins } from "../data/pins.js";
import { mayPlan } from "../data/session.js";
import { BoardError } from "../data/types.js";
import { commit } from "../data/undo.js";
import { isMarkedReport } from "../logic/as-it-stands.js";
import { pinGroups } from "../logic/pins.js";
import { DOES, type Plan, whatOf } from "../logic/plan.js";
import { forcePlan, opened } from "../state.js";
import { pick } from "../timetable/keys.js";
import { Faults } from "./faults.js";
import { happeningText } from "./happening-text.js";
import { Sign } from "./sign.js";

/** What is pinned, a line for each load or mix. */
function PinList({ plan }: { plan: Plan }) {
  const groups = pinGroups(plan);
  if (groups.length === 0) return null;
  return (
    <ul class="pending">
      {groups.map(({ owner, tasks }) => {
        const [first] = tasks;
        const what = whatOf(plan, first!);
        const does = tasks.length === 1 ? DOES[first!.task.does].toLowerCase() : `${tasks.length} steps`;
        return (
          <li key={owner}>
            <button type="button" class="linkish" onClick={() => pick(first!.id)}>
              <Sign name="pin" /> {what}: {does} pinned
            </button>
            {mayPlan.value && (
              <button
                type="button"
                class="btn slim bare"
                aria-label={`Unpin ${what}`}
                onClick={() =>
                  void setPins(
                    tasks.map(({ id }) => id),
                    false,
                  )
                }
              >
                ✕
              </button>
            )}
          </li>
        );
      })}
    </ul>
  );
}

const isShown = (one: Happening): boolean => one.kind !== "lock" && one.kind !== "hold" && !isMarkedReport(one);

/** What the day knows of what was not planned; each can be taken back when it is over. */
export function HappeningsCard() {
  const trouble = useSignal<BoardError | undefined>(undefined);
  const day = opened.value;
  const plan = forcePlan.value;
  const list = day?.documents.happenings.happenings ?? [];
  if (!day || !plan || !list.some((one) => !isMarkedReport(one))) return null;
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
      <h2>What has happened, what is pinned</h2>
      {trouble.value && <Faults error={trouble.value} />}
      <PinList plan={plan} />
      <ul class="pending">
        {list.map(
          (happening, i) =>
            isShown(happening) && (
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
            ),
        )}
      </ul>
    </section>
  );
}
