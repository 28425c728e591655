import { useComputed, useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { readOrdersCsv } from "../../../schemas/csv.js";
import type { OrderLine } from "../../../schemas/index.js";
import { BoardError } from "../data/types.js";
import { commit } from "../data/undo.js";
import { dayTime, instantText } from "../logic/clock.js";
import {
  draftChanges,
  type Fate,
  filterRows,
  freshId,
  type OrderRow,
  orderRows,
  type SortKey,
  sortRows,
} from "../logic/orders.js";
import { Faults } from "../parts/faults.js";
import { LineDialog } from "../parts/line-dialog.js";
import { rowsWindow } from "../parts/rows-window.js";
import { forcePlan, opened, spoken } from "../state.js";
import { picked } from "../timetable/view.js";

/** As in the style sheet; on narrow screens a row has two lines. */
const NARROW = matchMedia("(max-width: 860px)");
const rowPx = (): number => (NARROW.matches ? 64 : 42);

const FATES: Readonly<Record<Fate, { text: string; tone: string }>> = {
  "on-time": { text: "fits", tone: "good" },
  late: { text: "late", tone: "warn" },
  short: { text: "short", tone: "alarm" },
  "not-drawn": { text: "not drawn up yet", tone: "" },
};

const COLUMNS: readonly { key: SortKey | undefined; text: string; name: string }[] = [
  { key: "line", text: "Line", name: "line" },
  { key: "product", text: "What", name: "what" },
  { key: undefined, text: "For", name: "for" },
  { key: "due", text: "Due", name: "due" },
  { key: "fate", text: "How it fares", name: "fate" },
  { key: undefined, text: "Ready", name: "ready" },
  { key: undefined, text: "Made at", name: "made" },
  { key: undefined, text: "Van run", name: "van" },
];

function Row({ row, onEdit }: { row: OrderRow; onEdit: () => void }) {
  const fate = FATES[row.fate];
  const current = forcePlan.value!;
  return (
    <tr class="order-row">
      <td class="o-line quiet">{row.line.id}</td>
      <td class="o-what">
        <button type="button" class="linkish" onClick={onEdit} title="Change this line">
          <b>{row.line.pieces}</b> {row.product}
        </button>
        {(row.line.priority ?? 1) !== 1 && (
          <span class="tag" title="Late and short pieces count this many times">
            ×{row.line.priority}
          </span>
        )}
      </td>
      <td class="o-for">
        {row.forWhom || current.sites.get(row.line.site)?.name}
        {row.forWhom && <span class="quiet"> {current.sites.get(row.line.site)?.name}</span>}
      </td>
      <td class="o-due">{row.dueMs === undefined ? row.line.due : dayTime(row.zone, row.dueMs)}</td>
      <td class="o-fate" title={row.why}>
        <span class={`tag ${fate.tone}`}>{row.trouble || fate.text}</span>
      </td>
      <td class="o-ready">{row.readyMs === undefined ? "" : dayTime(row.zone, row.readyMs)}</td>
      <td class="o-made">
        {row.madeAt.join(", ")}
        {row.loads[0] && row.fate !== "not-drawn" && (
          <button
            type="button"
            class="linkish small way-link"
            onClick={() => {
              picked.value = current.byLoad.get(row.loads[0]!)?.at(-1)?.id;
              location.hash = "#/today";
            }}
          >
            whole way
          </button>
        )}
      </td>
      <td class="o-van">{row.vans.join(", ")}</td>
    </tr>
  );
}

/** The orders: entered, pasted or uploaded; each with how it fares. */
export function OrdersPage() {
  const current = forcePlan.value;
  const day = opened.value!;
  const draft = useSignal<readonly OrderLine[] | undefined>(undefined);
  const text = useSignal("");
  const site = useSignal("");
  const fate = useSignal<Fate | "">("");
  const sort = useSignal<{ key: SortKey; isDown: boolean }>({ key: "due", isDown: false });
  const scroll = useSignal({ top: 0, height: 600 });
  const editing = useSignal<OrderLine | undefined>(undefined);
  const trouble = useSignal<BoardError | undefined>(undefined);
  const saving = useSignal(false);
  const scroller = useRef<HTMLDivElement>(null);
  const file = useRef<HTMLInputElement>(null);
  const stored = day.documents.orders.lines;
  const lines = draft.value ?? stored;
  const rows = useComputed(() => {
    const with_ = forcePlan.value;
    return with_ ? orderRows(draft.value ?? opened.value!.documents.orders.lines, with_) : [];
  });
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
  }, [current !== undefined]);

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
  const save = async (): Promise<void> => {
    if (!draft.value) return;
    saving.value = true;
    try {
      await commit(day, { orders: { format: "orders/1", lines: [...draft.value] } }, "orders changed");
      draft.value = undefined;
      trouble.value = undefined;
      spoken.value = "Orders saved.";
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
    } finally {
      saving.value = false;
    }
  };
  const onPaste = (event: ClipboardEvent): void => {
    const target = event.target as HTMLElement;
    if (/^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName)) return;
    const pasted = event.clipboardData?.getData("text/plain") ?? "";
    if (!/^\s*"?id/i.test(pasted)) return;
    event.preventDefault();
    // Spreadsheets give tabs.
    take(pasted.includes("\t") && !pasted.includes(",") ? pasted.replaceAll("\t", ",") : pasted, false);
  };
  useEffect(() => {
    addEventListener("paste", onPaste);
    return () => removeEventListener("paste", onPaste);
  });

  if (!current) return <p class="waiting">Draw the day up under Today first; then each order shows how it fares.</p>;
  const window_ = rowsWindow(shown.value.length, rowPx(), scroll.value.top, scroll.value.height);
  const diff = draft.value ? draftChanges(stored, draft.value) : undefined;
  const count = (kind: Fate): number => rows.value.filter((row) => row.fate === kind).length;
  return (
    <div class="page orders">
      <header>
        <h1>Orders</h1>
        <p>
          {rows.value.length} lines, {rows.value.reduce((sum, row) => sum + row.line.pieces, 0).toLocaleString("en-GB")}{" "}
          pieces. Paste rows with the columns id, product, pieces, site, due anywhere on this page.
        </p>
      </header>
      <div class="order-tools">
        <label class="field">
          Find
          <input
            type="search"
            placeholder="product, customer, line, van"
            value={text.value}
            onInput={(event) => {
              text.value = event.currentTarget.value;
            }}
          />
        </label>
        <label class="field">
          For
          <select
            value={site.value}
            onChange={(event) => {
              site.value = event.currentTarget.value;
            }}
          >
            <option value="">every site</option>
            {day.documents.network.sites.map((one) => (
              <option key={one.id} value={one.id}>
                {one.name}
              </option>
            ))}
          </select>
        </label>
        <fieldset class="fates">
          <legend class="unseen">How it fares</legend>
          {(["", "on-time", "late", "short", "not-drawn"] as const).map((kind) => (
            <button
              key={kind}
              type="button"
              class="btn slim"
              aria-pressed={fate.value === kind}
              onClick={() => {
                fate.value = kind;
              }}
            >
              {kind === "" ? "all" : FATES[kind].text} {kind === "" ? rows.value.length : count(kind)}
            </button>
          ))}
        </fieldset>
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
                due: last?.due ?? instantText(current.day.network.sites[0]!.timeZone, current.span.toMs - 3_600_000),
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
              const chosen = event.currentTarget.files?.[0];
              if (chosen) take(await chosen.text(), true);
              event.currentTarget.value = "";
            }}
          />
        </div>
      </div>
      {trouble.value && <Faults error={trouble.value} />}
      {diff && (
        <div class="note warn draft-bar">
          <span>
            Not saved yet:{" "}
            {[
              diff.added > 0 && `${diff.added} new`,
              diff.changed > 0 && `${diff.changed} changed`,
              diff.removed > 0 && `${diff.removed} taken out`,
            ]
              .filter(Boolean)
              .join(", ") || "no difference"}
            .
          </span>
          <button type="button" class="btn main slim" disabled={saving.value} onClick={() => void save()}>
            Save the orders
          </button>
          <button
            type="button"
            class="btn slim"
            onClick={() => {
              draft.value = undefined;
              trouble.value = undefined;
            }}
          >
            Drop the changes
          </button>
        </div>
      )}
      {!diff && count("not-drawn") > 0 && (
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
          <thead>
            <tr>
              {COLUMNS.map((column) => (
                <th
                  key={column.name}
                  class={`o-${column.name}`}
                  scope="col"
                  aria-sort={
                    column.key === sort.value.key ? (sort.value.isDown ? "descending" : "ascending") : undefined
                  }
                >
                  {column.key ? (
                    <button
                      type="button"
                      class="sort"
                      onClick={() => {
                        const key = column.key!;
                        sort.value = { key, isDown: sort.value.key === key ? !sort.value.isDown : false };
                      }}
                    >
                      {column.text}
                      <span aria-hidden="true">
                        {column.key === sort.value.key ? (sort.value.isDown ? " ↓" : " ↑") : ""}
                      </span>
                    </button>
                  ) : (
                    column.text
                  )}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {window_.abovePx > 0 && (
              <tr>
                <td colSpan={COLUMNS.length} style={{ height: `${window_.abovePx}px`, padding: 0 }} />
              </tr>
            )}
            {shown.value.slice(window_.first, window_.last).map((row) => (
              <Row
                key={row.line.id}
                row={row}
                onEdit={() => {
                  editing.value = row.line;
                }}
              />
            ))}
            {window_.belowPx > 0 && (
              <tr>
                <td colSpan={COLUMNS.length} style={{ height: `${window_.belowPx}px`, padding: 0 }} />
              </tr>
            )}
          </tbody>
        </table>
        {shown.value.length === 0 && <p class="waiting">No line is like that.</p>}
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
