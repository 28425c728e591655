import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import type { OrderLine } from "../../../schemas/index.js";
import { instantText } from "../logic/clock.js";
import { windowOf, zoneAt } from "../logic/new-day.js";
import { whenMs } from "../logic/whens.js";
import { opened } from "../state.js";
import { ChoiceField, named, TextField } from "./field.js";
import { WhenField } from "./when-field.js";

interface Props {
  readonly line: OrderLine | undefined;
  readonly isNew: boolean;
  readonly onClose: () => void;
  readonly onSave: (line: OrderLine) => void;
  readonly onRemove: (id: string) => void;
}

/** One order line as a form. */
export function LineDialog({ line, isNew, onClose, onSave, onRemove }: Props) {
  const dialog = useRef<HTMLDialogElement>(null);
  const form = useSignal<OrderLine | undefined>(undefined);
  useEffect(() => {
    if (!line) return;
    form.value = line;
    dialog.current?.showModal();
  }, [line]);
  const day = opened.value!.documents;
  const span = windowOf(day);
  const own = form.value;
  const set = (more: Partial<OrderLine>): void => {
    form.value = { ...form.value!, ...more };
  };
  const close = (): void => {
    dialog.current?.close();
    onClose();
  };
  const zone = zoneAt(day, own?.site);
  return (
    <dialog ref={dialog} class="ask" aria-labelledby="line-title" onClose={onClose}>
      {own && line && (
        <form
          method="dialog"
          onSubmit={(event) => {
            event.preventDefault();
            onSave(own);
            close();
          }}
        >
          <h2 id="line-title">
            {isNew ? "New line" : "Line"} {own.id}
          </h2>
          <div class="ask-row">
            <TextField
              label="Pieces"
              type="number"
              min={1}
              max={1_000_000}
              required
              value={String(own.pieces)}
              onValue={(pieces) => set({ pieces: Number(pieces) })}
            />
            <ChoiceField
              label="Product"
              value={own.product}
              options={named(day.catalogue.products)}
              onValue={(product) => set({ product })}
            />
          </div>
          <div class="ask-row">
            <ChoiceField
              label="For the site"
              value={own.site}
              options={named(day.network.sites)}
              onValue={(site) => set({ site })}
            />
            <TextField
              label="Customer (may be left empty)"
              maxLength={100}
              value={own.customer ?? ""}
              onValue={(name) => {
                const { customer: _, ...rest } = own;
                form.value = name.trim() === "" ? rest : { ...rest, customer: name };
              }}
            />
          </div>
          <WhenField
            label="Due"
            zone={zone}
            span={span}
            ms={whenMs(own.due, zone) ?? span.toMs - 60_000}
            onChange={(ms) => set({ due: instantText(zone, ms) })}
          />
          <div class="ask-row">
            <TextField
              label="Counts (1 is usual)"
              type="number"
              min={0.1}
              step="any"
              max={1000}
              value={String(own.priority ?? 1)}
              onValue={(priority) => set({ priority: Number(priority) })}
            />
            <ChoiceField
              label="Made at"
              value={own.madeAt ?? ""}
              options={[{ value: "", text: "wherever it is best" }, ...named(day.network.sites)]}
              onValue={(site) => {
                const { madeAt: _, ...rest } = own;
                form.value = site === "" ? rest : { ...rest, madeAt: site };
              }}
            />
          </div>
          <div class="ask-row end">
            {!isNew && (
              <button
                type="button"
                class="btn bare"
                onClick={() => {
                  onRemove(own.id);
                  close();
                }}
              >
                Take it out
              </button>
            )}
            <button type="button" class="btn" onClick={close}>
              Leave as it was
            </button>
            <button type="submit" class="btn main">
              {isNew ? "Add to the list" : "Change"}
            </button>
          </div>
        </form>
      )}
    </dialog>
  );
}
