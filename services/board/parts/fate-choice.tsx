import type { Fate, OrderRow } from "../logic/orders.js";
import { FATES } from "./order-row.js";

const KINDS = ["", "on-time", "late", "short", "not-drawn"] as const;

interface Props {
  /** Empty: all of them. */
  readonly fate: Fate | "";
  readonly rows: readonly OrderRow[];
  readonly onFate: (fate: Fate | "") => void;
}

/** Which lines are shown, by how they fare, with how many there are of each. */
export function FateChoice({ fate, rows, onFate }: Props) {
  const count = (kind: Fate | ""): number => rows.filter((row) => kind === "" || row.fate === kind).length;
  return (
    <fieldset class="fates">
      <legend class="unseen">How it fares</legend>
      {KINDS.map((kind) => (
        <button key={kind} type="button" class="btn slim" aria-pressed={fate === kind} onClick={() => onFate(kind)}>
          {kind === "" ? "all" : FATES[kind].text} {count(kind)}
        </button>
      ))}
    </fieldset>
  );
}
