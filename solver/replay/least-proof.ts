import type { Site, StandingStep, Task } from "../../schemas/index.js";
import { leastProofMinutes } from "../trade/proof.js";

/** D4: how long a proof takes at the least, by the warmth of the proofer that it stands in. */
export function leastProof({ id, proofers, roomTempC }: Site, { places }: Task, step: StandingStep): number {
  const proofer = proofers.find((own) => `${id}/${own.id}` === places?.[0]?.unit);
  return proofer ? leastProofMinutes(step, roomTempC, proofer.tempC) : step.leastMinutes;
}
