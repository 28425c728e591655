import { mayPlan } from "../data/session.js";

/** Said where a planner has buttons: why there are none, and who has them. `does`: what a planner does here. */
export function LookOnly({ does }: { does: string }) {
  if (mayPlan.value) return null;
  return <p class="look-only quiet small">You may look only; a planner {does}.</p>;
}
