import { pinTrouble, setPins } from "../data/pins.js";
import { canPin } from "../logic/pins.js";
import type { Plan, PlannedTask } from "../logic/plan.js";
import { Faults } from "./faults.js";
import { Sign } from "./sign.js";

/** Pins a task, or a load's whole way, where the timetable in force has it. */
export function PinControls({ plan, task, way }: { plan: Plan; task: PlannedTask; way: readonly PlannedTask[] }) {
  const pin = plan.pins.get(task.id);
  const all = way.filter(canPin).map(({ id }) => id);
  const isAll = all.every((id) => plan.pins.has(id));
  if (!canPin(task)) return null;
  return (
    <div class="pins">
      <button
        type="button"
        class="btn slim"
        aria-pressed={pin !== undefined}
        title="Key p in the picture"
        onClick={() => void setPins([task.id], pin === undefined)}
      >
        <Sign name="pin" /> {pin === undefined ? "Pin it here" : "Pinned"}
      </button>
      {all.length > 1 && (
        <button type="button" class="btn slim" aria-pressed={isAll} onClick={() => void setPins(all, !isAll)}>
          {isAll ? "Whole way pinned" : "Pin the whole way"}
        </button>
      )}
      {pin && (
        <p class="small quiet">
          {pin === "hold" ? "Moved here by hand." : "Stays here, whatever is drawn up or repaired."} Press again to let
          it go.
        </p>
      )}
      {pinTrouble.value && <Faults error={pinTrouble.value} />}
    </div>
  );
}
