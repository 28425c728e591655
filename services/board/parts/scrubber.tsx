import { MINUTE } from "../logic/clock.js";
import type { Plan } from "../logic/plan.js";

/** A slider over the day's time, on a curve of how many things there are. */
export function Scrubber({
  current,
  ms,
  onChange,
  counts,
}: {
  current: Plan;
  ms: number;
  onChange: (ms: number) => void;
  counts: { ms: number; used: number }[];
}) {
  const { fromMs, toMs } = current.span;
  const peak = Math.max(1, ...counts.map((level) => level.used));
  const x = (at: number): number => ((at - fromMs) / (toMs - fromMs)) * 1000;
  let path = "M0 40";
  let last = 0;
  for (const level of counts) {
    const at = x(Math.min(Math.max(level.ms, fromMs), toMs));
    path += `L${at.toFixed(1)} ${(40 - (last / peak) * 36).toFixed(1)}L${at.toFixed(1)} ${(40 - (level.used / peak) * 36).toFixed(1)}`;
    last = level.used;
  }
  return (
    <div class="scrub-track">
      <svg viewBox="0 0 1000 40" preserveAspectRatio="none" aria-hidden="true">
        <path d={`${path}L1000 40Z`} />
      </svg>
      <input
        type="range"
        aria-label="Time"
        min={fromMs}
        max={toMs}
        step={MINUTE}
        value={ms}
        onInput={(event) => onChange(Number(event.currentTarget.value))}
      />
    </div>
  );
}
