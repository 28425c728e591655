import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { clockFace, dayText, instantsOf, type Span } from "../logic/clock.js";
import { localDays } from "../logic/days.js";

interface Props {
  readonly label: string;
  readonly zone: string;
  readonly span: Span;
  readonly ms: number;
  readonly onChange: (ms: number) => void;
  readonly disabled?: boolean;
}

/** A date and a time on a site's clock. On the night when clocks go back, the hour that comes twice can be told apart. */
export function WhenField({ label, zone, span, ms, onChange, disabled }: Props) {
  const days = localDays(zone, span);
  const day = Math.max(
    0,
    days.findIndex((candidate) => ms >= candidate.fromMs && ms < candidate.toMs),
  );
  const text = useSignal(clockFace(zone, ms));
  const found = instantsOf(zone, text.value, days[day]!.fromMs, days[day]!.toMs - 1);
  useEffect(() => {
    if (instantsOf(zone, text.value, ms, ms).length === 0) text.value = clockFace(zone, ms);
  }, [ms, zone]);
  const give = (time: string, at: number, turn = 0): void => {
    const all = instantsOf(zone, time, days[at]!.fromMs, days[at]!.toMs - 1);
    const chosen = all[Math.min(turn, all.length - 1)];
    if (chosen !== undefined) onChange(chosen);
  };
  return (
    <fieldset class="when" disabled={disabled}>
      <legend>{label}</legend>
      <div class="when-row">
        <select
          class="entry"
          aria-label={`${label}: day`}
          value={String(day)}
          onChange={(event) => give(text.value, Number(event.currentTarget.value))}
        >
          {days.map((candidate, i) => (
            <option key={candidate.fromMs} value={String(i)}>
              {dayText(zone, candidate.fromMs)}
            </option>
          ))}
        </select>
        <input
          class="entry when-time"
          aria-label={`${label}: time`}
          aria-invalid={found.length === 0}
          inputMode="numeric"
          size={5}
          value={text.value}
          onInput={(event) => {
            text.value = event.currentTarget.value;
            give(text.value, day);
          }}
        />
        {found.length > 1 && (
          <select
            class="entry"
            aria-label={`${label}: which of the two`}
            value={String(Math.max(0, found.indexOf(ms)))}
            onChange={(event) => give(text.value, day, Number(event.currentTarget.value))}
          >
            <option value="0">first time</option>
            <option value="1">second time</option>
          </select>
        )}
      </div>
      {found.length === 0 && (
        <span class="small when-trouble">
          {text.value.length >= 4 ? "The clocks of this day do not show that time." : "Such as 04:10."}
        </span>
      )}
    </fieldset>
  );
}
