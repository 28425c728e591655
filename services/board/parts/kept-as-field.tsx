import { TextField } from "./field.js";

/** The name that a day is kept under, also in addresses of the API. */
export function KeptAsField({ value, onValue }: { value: string; onValue: (value: string) => void }) {
  return (
    <TextField
      label="Kept as"
      required
      maxLength={63}
      pattern="[a-z0-9][a-z0-9\-]*"
      title="Small letters a to z, digits and dashes, such as 2026-12-04."
      value={value}
      onValue={onValue}
    />
  );
}
