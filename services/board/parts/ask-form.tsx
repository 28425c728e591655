import { useSignal } from "@preact/signals";
import { type Ask, type Asking, firstValues } from "../logic/asks.js";
import { ChoiceField, TextField } from "./field.js";

interface Props<T> {
  /** Over the first choice. */
  readonly label: string;
  readonly kinds: readonly Asking<T>[];
  readonly onAdd: (made: T) => void;
  readonly onLeave: () => void;
}

function AskField({ ask, value, onValue }: { ask: Ask; value: string; onValue: (value: string) => void }) {
  if (ask.is === "choice")
    return <ChoiceField label={ask.label} value={value} options={ask.choices} onValue={onValue} />;
  if (ask.is === "time")
    return (
      <TextField
        label={ask.label}
        value={value}
        onValue={onValue}
        required
        pattern="([01]\d|2[0-3]):[0-5]\d"
        placeholder="04:10"
        title="A time of day such as 04:10"
      />
    );
  return (
    <TextField
      label={ask.label}
      value={value}
      onValue={onValue}
      type="number"
      required
      min={ask.min}
      max={ask.max}
      step={ask.step ?? "any"}
    />
  );
}

/** One of several kinds of thing, and the fields that each asks for. */
export function AskForm<T>({ label, kinds, onAdd, onLeave }: Props<T>) {
  const chosen = useSignal(kinds[0]!.id);
  const typed = useSignal<Readonly<Record<string, string>>>({});
  const kind = kinds.find(({ id }) => id === chosen.value)!;
  const values = { ...firstValues(kind), ...typed.value };
  return (
    <form
      class="edit-form"
      onSubmit={(event) => {
        event.preventDefault();
        onAdd(kind.make(values));
      }}
    >
      <ChoiceField
        label={label}
        value={chosen.value}
        options={kinds.map(({ id, text }) => ({ value: id, text }))}
        onValue={(id) => {
          chosen.value = id;
          typed.value = {};
        }}
      />
      {kind.asks.map((ask) => (
        <AskField
          key={`${kind.id} ${ask.key}`}
          ask={ask}
          value={values[ask.key]!}
          onValue={(value) => {
            typed.value = { ...typed.value, [ask.key]: value };
          }}
        />
      ))}
      <div class="move-do">
        <button type="submit" class="btn slim main">
          Add
        </button>
        <button type="button" class="btn slim" onClick={onLeave}>
          Leave
        </button>
      </div>
    </form>
  );
}
