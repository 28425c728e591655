import type { StandingStep } from "../../schemas/index.js";
import { q10Rate } from "./yeast.js";

/** A piece of about 100 g warms with this time constant: m cp / (h A) for 0.1 kg, 2.7 kJ/(kg K), 10 W/(m2 K), 0.022 m2. */
const WARMING_MINUTES = 20;

/**
 * Minutes that a proof takes where dough at doughTempC stands in air of airTempC, when it takes typicalMinutes with both at atTempC:
 * the rate follows Q10 while the piece warms towards the air. Valid for pieces and pans, not for large loaves. Infinity is never returned: at most a day.
 */
export function proofMinutes({
  typicalMinutes,
  atTempC,
  doughTempC,
  airTempC,
  q10,
}: {
  typicalMinutes: number;
  atTempC: number;
  doughTempC: number;
  airTempC: number;
  q10: number;
}): number {
  const rate = (minute: number): number =>
    q10Rate(airTempC + (doughTempC - airTempC) * Math.exp(-minute / WARMING_MINUTES), atTempC, q10);
  let done = 0;
  for (let minute = 0; minute < 1440; minute++) {
    // Simpson's rule within the minute.
    const more = (rate(minute) + 4 * rate(minute + 0.5) + rate(minute + 1)) / 6;
    if (done + more >= typicalMinutes) return minute + (typicalMinutes - done) / more;
    done += more;
  }
  return 1440;
}

/** Least minutes of a proof in a proofer (D4): computed where the step says what is typical, kept inside its least..greatest. */
export function leastProofMinutes(step: StandingStep, roomTempC: number, prooferTempC: number): number {
  if (step.typicalMinutes === undefined || step.atTempC === undefined) return step.leastMinutes;
  const computed = proofMinutes({
    typicalMinutes: step.typicalMinutes,
    atTempC: step.atTempC,
    doughTempC: roomTempC,
    airTempC: prooferTempC,
    q10: step.q10 ?? 2,
  });
  return Math.min(step.greatestMinutes, Math.max(step.leastMinutes, Math.ceil(computed - 1e-6)));
}
