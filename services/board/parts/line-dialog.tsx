import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import type { OrderLine } from "../../../schemas/index.js";
import { instantText } from "../logic/clock.js";
import { zoneOf } from "../logic/plan.js";
import { whenMs } from "../logic/whens.js";
import { forcePlan } from "../state.js";
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
  const current = forcePlan.value!;
  const own = form.value;
  const set = (more: Partial<OrderLine>): void => {
    form.value = { ...form.value!, ...more };
  };
  const close = (): void => {
    dialog.current?.close();
    onClose();
  };
  const zone = zoneOf(current, own?.site ?? "");
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
            <label class="field">
              Pieces
              <input
                type="number"
                min={1}
                max={1_000_000}
                required
                value={own.pieces}
                onInput={(event) => set({ pieces: Number(event.currentTarget.value) })}
              />
            </label>
            <label class="field">
              Product
              <select value={own.product} onChange={(event) => set({ product: event.currentTarget.value })}>
                {current.day.catalogue.products.map((product) => (
                  <option key={product.id} value={product.id}>
                    {product.name}
                  </option>
                ))}
              </select>
            </label>
          </div>
          <div class="ask-row">
            <label class="field">
              For the site
              <select value={own.site} onChange={(event) => set({ site: event.currentTarget.value })}>
                {current.day.network.sites.map((site) => (
                  <option key={site.id} value={site.id}>
                    {site.name}
                  </option>
                ))}
              </select>
            </label>
            <label class="field">
              Customer (may be left empty)
              <input
                maxLength={100}
                value={own.customer ?? ""}
                onInput={(event) => {
                  const { customer: _, ...rest } = own;
                  const name = event.currentTarget.value;
                  form.value = name.trim() === "" ? rest : { ...rest, customer: name };
                }}
              />
            </label>
          </div>
          <WhenField
            label="Due"
            zone={zone}
            span={current.span}
            ms={whenMs(own.due, zone) ?? current.span.toMs - 60_000}
            onChange={(ms) => set({ due: instantText(zone, ms) })}
          />
          <div class="ask-row">
            <label class="field">
              Counts (1 is usual)
              <input
                type="number"
                min={0.1}
                step="any"
                max={1000}
                value={own.priority ?? 1}
                onInput={(event) => set({ priority: Number(event.currentTarget.value) })}
              />
            </label>
            <label class="field">
              Made at
              <select
                value={own.madeAt ?? ""}
                onChange={(event) => {
                  const { madeAt: _, ...rest } = own;
                  form.value = event.currentTarget.value === "" ? rest : { ...rest, madeAt: event.currentTarget.value };
                }}
              >
                <option value="">wherever it is best</option>
                {current.day.network.sites.map((site) => (
                  <option key={site.id} value={site.id}>
                    {site.name}
                  </option>
                ))}
              </select>
            </label>
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
