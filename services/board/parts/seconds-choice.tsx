import { Choice, Field } from "./field.js";

export function secondsText(seconds: number): string {
  return seconds < 60 ? `${seconds} s` : `${seconds / 60} min`;
}

/** For how long to search. */
export function SecondsChoice({
  label,
  seconds,
  of,
  onSeconds,
}: {
  label: string;
  seconds: number;
  of: readonly number[];
  onSeconds: (seconds: number) => void;
}) {
  return (
    <Field label={label} isInline>
      <Choice
        class="entry"
        value={String(seconds)}
        options={of.map((one) => ({ value: String(one), text: secondsText(one) }))}
        onValue={(value) => onSeconds(Number(value))}
      />
    </Field>
  );
}
