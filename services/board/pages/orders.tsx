import { useComputed, useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { readOrdersCsv } from "../../../schemas/csv.js";
import type { OrderLine } from "../../../schemas/index.js";
import { withToldLines } from "../../../solver/problem/told.js";
import { orderDraft } from "../data/drafts.js";
import { mayPlan } from "../data/session.js";
import { BoardError } from "../data/types.js";
import { commit } from "../data/undo.js";
import { instantText } from "../logic/clock.js";
import { windowOf, zoneAt } from "../logic/new-day.js";
import { draftChanges, type Fate, filterRows, freshId, orderRows, placeInOrders, sortRows } from "../logic/orders.js";
import { DraftBar } from "../parts/draft-bar.js";
import { DrawFirst } from "../parts/draw-first.js";
import { FateChoice } from "../parts/fate-choice.js";
import { Faults } from "../parts/faults.js";
import { ChoiceField, named, TextField } from "../parts/field.js";
import { LineDialog } from "../parts/line-dialog.js";
import { LookOnly } from "../parts/look-only.js";
import { columnsOf, OrderHead, OrderLineRow, type Sort } from "../parts/order-row.js";
import { rowsWindow } from "../parts/rows-window.js";
import { forcePlan, isPrinting, opened, spoken } from "../state.js";

/** As in the style sheet; on narrow screens a row has two lines. */
const NARROW = matchMedia("(max-width: 860px)");
const rowPx = (): number => (NARROW.matches ? 64 : 42);

/** A refusal that names lines as the list does. */
function inWords(error: Error, lines: readonly OrderLine[]): BoardError {
  if (!(error instanceof BoardError)) return new BoardError(error.message);
  const faults = error.faults.map((fault) => {
    const place = fault.document === "orders" ? placeInOrders(lines, fault.pointer) : undefined;
    return place === undefined ? fault : { ...fault, document: "", pointer: place };
  });
  return new BoardError(error.message, error.fix, error.status, faults);
}

/** The orders: entered, pasted or uploaded; each with how it fares. */
export function OrdersPage() {
  const current = forcePlan.value;
  const day = opened.value!;
  const draft = orderDraft(day.id);
  const columns = columnsOf(current !== undefined);
  const text = useSignal("");
  const site = useSignal("");
  const fate = useSignal<Fate | "">("");
  const sort = useSignal<Sort>({ key: "due", isDown: false });
  const scroll = useSignal({ top: 0, height: 600 });
  const editing = useSignal<OrderLine | undefined>(undefined);
  const trouble = useSignal<BoardError | undefined>(undefined);
  const saving = useSignal(false);
  const scroller = useRef<HTMLDivElement>(null);
  const file = useRef<HTMLInputElement>(null);
  // What was told of orders is in the lines here: whoever saves them has taken it up.
  const told = useComputed(() => withToldLines(opened.value!.documents));
  const stored = told.value.orders.lines;
  const lines = draft.value ?? stored;
  const rows = useComputed(() =>
    orderRows(draft.value ?? told.value.orders.lines, opened.value!.documents, forcePlan.value),
  );
  const shown = useComputed(() =>
    sortRows(
      filterRows(rows.value, { text: text.value, site: site.value, fate: fate.value }),
      sort.value.key,
      sort.value.isDown,
    ),
  );
  useEffect(() => {
    const box = scroller.current;
    if (!box) return;
    const watch = new ResizeObserver(() => {
      scroll.value = { top: box.scrollTop, height: box.clientHeight };
    });
    watch.observe(box);
    return () => watch.disconnect();
  }, []);

  const take = (csv: string, isAll: boolean): void => {
    const read = readOrdersCsv(csv);
    if (read.issues.length > 0) {
      trouble.value = new BoardError(
        "The lines were not taken.",
        "",
        422,
        read.issues.map((issue) => ({ ...issue, detail: issue.message })),
      );
      return;
    }
    trouble.value = undefined;
    const fresh = new Map(read.orders.lines.map((line) => [line.id, line]));
    draft.value = isAll ? read.orders.lines : [...lines.filter((line) => !fresh.has(line.id)), ...read.orders.lines];
    spoken.value = `${read.orders.lines.length} lines read.`;
  };
  /** False: it was refused. */
  const save = async (): Promise<boolean> => {
    if (!draft.value) return true;
    saving.value = true;
    try {
      const { happenings } = told.value;
      const orders = { format: "orders/1" as const, lines: [...draft.value] };
      const isTaken = happenings !== day.documents.happenings;
      await commit(day, isTaken ? { orders, happenings } : { orders }, "orders changed");
      draft.value = undefined;
      trouble.value = undefined;
      spoken.value = "Orders saved.";
      return true;
    } catch (error) {
      trouble.value = inWords(error as Error, draft.value ?? []);
      return false;
    } finally {
      saving.value = false;
    }
  };
  const onPaste = (event: ClipboardEvent): void => {
    const target = event.target as HTMLElement;
    if (/^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName)) return;
    const pasted = event.clipboardData?.getData("text/plain") ?? "";
    if (!mayPlan.value || !/^\s*"?id/i.test(pasted)) return;
    event.preventDefault();
    // Spreadsheets give tabs.
    take(pasted.includes("\t") && !pasted.includes(",") ? pasted.replaceAll("\t", ",") : pasted, false);
  };
  useEffect(() => {
    addEventListener("paste", onPaste);
    return () => removeEventListener("paste", onPaste);
  });

  const window_ = isPrinting.value
    ? { first: 0, last: shown.value.length, abovePx: 0, belowPx: 0 }
    : rowsWindow(shown.value.length, rowPx(), scroll.value.top, scroll.value.height);
  const diff = draft.value ? draftChanges(stored, draft.value) : undefined;
  const count = (kind: Fate): number => rows.value.filter((row) => row.fate === kind).length;
  return (
    <div class="page orders">
      <header>
        <h1>Orders</h1>
        <p>
          {rows.value.length} {rows.value.length === 1 ? "line" : "lines"},{" "}
          {rows.value.reduce((sum, row) => sum + row.line.pieces, 0).toLocaleString("en-GB")} pieces.
          {mayPlan.value && " Paste rows with the columns id, product, pieces, site, due anywhere on this page."}
        </p>
      </header>
      <div class="order-tools">
        <TextField
          label="Find"
          type="search"
          placeholder="product, customer, line, van"
          value={text.value}
          onValue={(value) => {
            text.value = value;
          }}
        />
        <ChoiceField
          label="For"
          value={site.value}
          options={[{ value: "", text: "every site" }, ...named(day.documents.network.sites)]}
          onValue={(value) => {
            site.value = value;
          }}
        />
        {current && (
          <FateChoice
            fate={fate.value}
            rows={rows.value}
            onFate={(kind) => {
              fate.value = kind;
            }}
          />
        )}
        {mayPlan.value ? (
          <div class="order-do">
            <button
              type="button"
              class="btn"
              onClick={() => {
                const last = lines.at(-1);
                editing.value = {
                  id: freshId(lines),
                  product: last?.product ?? day.documents.catalogue.products[0]!.id,
                  pieces: 12,
                  site: last?.site ?? day.documents.network.sites[0]!.id,
                  due: last?.due ?? instantText(zoneAt(day.documents), windowOf(day.documents).toMs - 3_600_000),
                };
              }}
            >
              New line
            </button>
            <button type="button" class="btn" onClick={() => file.current?.click()}>
              Upload CSV
            </button>
            <input
              ref={file}
              class="unseen"
              type="file"
              tabIndex={-1}
              aria-label="Orders as CSV"
              accept=".csv,text/csv"
              onChange={async (event) => {
                const input = event.currentTarget;
                const chosen = input.files?.[0];
                // The same file, mended, can be chosen again.
                if (chosen) take(await chosen.text(), true);
                input.value = "";
              }}
            />
          </div>
        ) : (
          <LookOnly does="changes the orders" />
        )}
      </div>
      {isPrinting.value && shown.value.length < rows.value.length && (
        <p class="note">
          Printed: {shown.value.length} of {rows.value.length} lines, as chosen on the screen.
        </p>
      )}
      {trouble.value && <Faults error={trouble.value} />}
      {diff && (
        <DraftBar
          text={
            [
              diff.added > 0 && `${diff.added} new`,
              diff.changed > 0 && `${diff.changed} changed`,
              diff.removed > 0 && `${diff.removed} taken out`,
            ]
              .filter(Boolean)
              .join(", ") || "no difference"
          }
          save="Save the orders"
          isSaving={saving.value}
          onSave={() => void save()}
          onDrop={() => {
            draft.value = undefined;
            trouble.value = undefined;
          }}
        />
      )}
      {!current && <DrawFirst lines={lines.length} isDraft={diff !== undefined} save={save} />}
      {current && !diff && count("not-drawn") > 0 && (
        <p class="note warn">
          The timetable was drawn up for other orders: {count("not-drawn")}{" "}
          {count("not-drawn") === 1 ? "line is" : "lines are"} not in it as ordered.{" "}
          <a href="#/today">Draw up again under Today.</a>
        </p>
      )}
      <section
        class="card order-list"
        ref={scroller}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolled region must be reachable by keyboard
        tabIndex={0}
        aria-label="Order lines"
        onScroll={() => {
          scroll.value = { top: scroller.current?.scrollTop ?? 0, height: scroller.current?.clientHeight ?? 600 };
        }}
      >
        <table aria-rowcount={shown.value.length + 1}>
          <OrderHead
            columns={columns}
            sort={sort.value}
            onSort={(next) => {
              sort.value = next;
            }}
          />
          <tbody>
            {window_.abovePx > 0 && (
              <tr>
                <td colSpan={columns.length} style={{ height: `${window_.abovePx}px`, padding: 0 }} />
              </tr>
            )}
            {shown.value.slice(window_.first, window_.last).map((row) => (
              <OrderLineRow
                key={row.line.id}
                row={row}
                onEdit={
                  mayPlan.value
                    ? () => {
                        editing.value = row.line;
                      }
                    : undefined
                }
              />
            ))}
            {window_.belowPx > 0 && (
              <tr>
                <td colSpan={columns.length} style={{ height: `${window_.belowPx}px`, padding: 0 }} />
              </tr>
            )}
          </tbody>
        </table>
        {shown.value.length === 0 && (
          <p class="waiting">
            {rows.value.length === 0 ? "No line yet. Type one, paste rows, or upload a CSV." : "No line is like that."}
          </p>
        )}
      </section>
      <LineDialog
        line={editing.value}
        isNew={editing.value !== undefined && !lines.some((line) => line.id === editing.value!.id)}
        onClose={() => {
          editing.value = undefined;
        }}
        onSave={(line) => {
          draft.value = lines.some((other) => other.id === line.id)
            ? lines.map((other) => (other.id === line.id ? line : other))
            : [...lines, line];
        }}
        onRemove={(id) => {
          draft.value = lines.filter((line) => line.id !== id);
        }}
      />
    </div>
  );
}
