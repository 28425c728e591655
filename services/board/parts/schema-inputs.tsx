import { useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import { numberTrouble, type Resolved } from "../logic/schema-form.js";

/** A control of a form made from a schema, with its name, what the server objected to, and what it is about. */
export function Wrapped({
  label,
  about,
  fault,
  children,
}: {
  label: string;
  about: string | undefined;
  fault: string | undefined;
  children: ComponentChildren;
}) {
  return (
    <div class="sf-field">
      <span class="sf-label">{label}</span>
      {children}
      {fault && <span class="sf-fault">{fault}</span>}
      {about && <span class="sf-about">{about}</span>}
    </div>
  );
}

/** A number within what its schema allows; only such numbers are passed on. */
export function NumberInput({
  schema,
  value,
  label,
  onValue,
}: {
  schema: Resolved["schema"];
  value: number;
  label: string;
  onValue: (value: number) => void;
}) {
  const text = useSignal(String(value ?? ""));
  useEffect(() => {
    if (Number(text.value) !== value) text.value = String(value ?? "");
  }, [value]);
  const trouble = numberTrouble(schema, text.value);
  return (
    <>
      <input
        class="entry"
        inputMode="decimal"
        aria-label={label}
        aria-invalid={trouble !== undefined}
        value={text.value}
        onInput={(event) => {
          text.value = event.currentTarget.value;
          if (numberTrouble(schema, text.value) === undefined) onValue(Number(text.value));
        }}
      />
      {trouble && <span class="sf-fault">{trouble}</span>}
    </>
  );
}
