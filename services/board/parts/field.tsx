import type { ComponentChildren } from "preact";

export interface Option {
  readonly value: string;
  readonly text: string;
}

interface Labelled {
  readonly label: ComponentChildren;
}

/** A control with its label above it, or before it in a line of text. */
export function Field({
  label,
  isInline,
  children,
}: Labelled & { readonly isInline?: boolean; readonly children: ComponentChildren }) {
  return (
    // biome-ignore lint/a11y/noLabelWithoutControl: the control is among the children
    <label class={isInline ? "small quiet inline-field" : "field"}>
      {label} {children}
    </label>
  );
}

interface ChoiceProps {
  readonly value: string;
  readonly options: readonly Option[];
  readonly onValue: (value: string) => void;
}

/** One of several. */
export function Choice({
  value,
  options,
  onValue,
  ...rest
}: ChoiceProps & { readonly class?: string; readonly "aria-label"?: string; readonly disabled?: boolean }) {
  return (
    <select {...rest} value={value} onChange={(event) => onValue(event.currentTarget.value)}>
      {options.map((option) => (
        <option key={option.value} value={option.value}>
          {option.text}
        </option>
      ))}
    </select>
  );
}

export function ChoiceField({ label, ...choice }: Labelled & ChoiceProps) {
  return (
    <Field label={label}>
      <Choice {...choice} />
    </Field>
  );
}

interface InputProps {
  readonly type?: "text" | "number" | "search";
  readonly required?: boolean;
  readonly min?: number;
  readonly max?: number;
  readonly step?: number | "any";
  readonly maxLength?: number;
  readonly pattern?: string;
  readonly placeholder?: string;
  readonly title?: string;
}

export function TextField({
  label,
  value,
  onValue,
  type = "text",
  ...rest
}: Labelled & InputProps & { readonly value: string; readonly onValue: (value: string) => void }) {
  return (
    <Field label={label}>
      <input type={type as "text"} {...rest} value={value} onInput={(event) => onValue(event.currentTarget.value)} />
    </Field>
  );
}

/** Names of things with an id, as options. */
export function named(items: readonly { readonly id: string; readonly name: string }[]): Option[] {
  return items.map(({ id, name }) => ({ value: id, text: name }));
}
