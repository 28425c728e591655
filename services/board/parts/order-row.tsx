import { dayTime } from "../logic/clock.js";
import type { Fate, OrderRow, SortKey } from "../logic/orders.js";
import type { Plan } from "../logic/plan.js";
import { forcePlan } from "../state.js";
import { picked } from "../timetable/view.js";

export const FATES: Readonly<Record<Fate, { text: string; tone: string }>> = {
  "on-time": { text: "fits", tone: "good" },
  late: { text: "late", tone: "warn" },
  short: { text: "short", tone: "alarm" },
  "not-drawn": { text: "not drawn up yet", tone: "" },
};

interface Column {
  readonly key: SortKey | undefined;
  readonly text: string;
  readonly name: string;
}

const ALWAYS: readonly Column[] = [
  { key: "line", text: "Line", name: "line" },
  { key: "product", text: "What", name: "what" },
  { key: undefined, text: "For", name: "for" },
  { key: "due", text: "Due", name: "due" },
  { key: "fate", text: "How it fares", name: "fate" },
];

/** What only a timetable tells. */
const DRAWN: readonly Column[] = [
  { key: undefined, text: "Ready", name: "ready" },
  { key: undefined, text: "Made at", name: "made" },
  { key: undefined, text: "Van run", name: "van" },
];

export function columnsOf(isDrawn: boolean): readonly Column[] {
  return isDrawn ? [...ALWAYS, ...DRAWN] : ALWAYS;
}

export interface Sort {
  readonly key: SortKey;
  readonly isDown: boolean;
}

export function OrderHead({
  columns,
  sort,
  onSort,
}: {
  columns: readonly Column[];
  sort: Sort;
  onSort: (sort: Sort) => void;
}) {
  return (
    <thead>
      <tr>
        {columns.map((column) => (
          <th
            key={column.name}
            class={`o-${column.name}`}
            scope="col"
            aria-sort={column.key === sort.key ? (sort.isDown ? "descending" : "ascending") : undefined}
          >
            {column.key ? (
              <button
                type="button"
                class="sort"
                onClick={() => {
                  const key = column.key!;
                  onSort({ key, isDown: sort.key === key ? !sort.isDown : false });
                }}
              >
                {column.text}
                <span aria-hidden="true">{column.key === sort.key ? (sort.isDown ? " ↓" : " ↑") : ""}</span>
              </button>
            ) : (
              column.text
            )}
          </th>
        ))}
      </tr>
    </thead>
  );
}

/** One order line: what, for whom, and how it fares. */
export function OrderLineRow({ row, onEdit }: { row: OrderRow; onEdit: (() => void) | undefined }) {
  const fate = FATES[row.fate];
  const current = forcePlan.value;
  return (
    <tr class="order-row">
      <td class="o-line quiet">{row.line.id}</td>
      <td class="o-what">
        {onEdit ? (
          <button type="button" class="linkish" onClick={onEdit} title="Change this line">
            <b>{row.line.pieces}</b> {row.product}
          </button>
        ) : (
          <span>
            <b>{row.line.pieces}</b> {row.product}
          </span>
        )}
        {(row.line.priority ?? 1) !== 1 && (
          <span class="tag" title="Late and short pieces count this many times">
            ×{row.line.priority}
          </span>
        )}
      </td>
      <td class="o-for">
        {row.forWhom || row.site}
        {row.forWhom && <span class="quiet"> {row.site}</span>}
      </td>
      <td class="o-due">{row.dueMs === undefined ? row.line.due : dayTime(row.zone, row.dueMs)}</td>
      <td class="o-fate" title={row.why}>
        <span class={`tag ${fate.tone}`}>{row.trouble || fate.text}</span>
      </td>
      {current && <DrawnCells row={row} plan={current} />}
    </tr>
  );
}

function DrawnCells({ row, plan }: { row: OrderRow; plan: Plan }) {
  return (
    <>
      <td class="o-ready">{row.readyMs === undefined ? "" : dayTime(row.zone, row.readyMs)}</td>
      <td class="o-made">
        {row.madeAt.join(", ")}
        {row.loads[0] && row.fate !== "not-drawn" && (
          <button
            type="button"
            class="linkish small way-link"
            onClick={() => {
              picked.value = plan.byLoad.get(row.loads[0]!)?.at(-1)?.id;
              location.hash = "#/today";
            }}
          >
            whole way
          </button>
        )}
      </td>
      <td class="o-van">{row.vans.join(", ")}</td>
    </>
  );
}
