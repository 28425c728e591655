import { mayPlan } from "../data/session.js";
import { Sign } from "../parts/sign.js";
import { isImproving } from "../state.js";
import { askOutOfService } from "./out-of-service-state.js";
import { laid, roomy, toggleRow } from "./view.js";

/** Names of the rows, beside the picture. A press unfolds a strip into its positions; the small sign takes the unit out of service. */
export function RowHeads() {
  void roomy.value;
  return (
    <ul class="heads" aria-label="Stations">
      {laid.value.rows.map(({ row, top, height }) => (
        <li
          key={row.id}
          class={`row-head ${row.station === "site" ? "is-site" : ""} ${row.isPart ? "is-part" : ""} ${row.out.length > 0 ? "is-out" : ""}`}
          style={{ top: `${top}px`, height: `${height}px` }}
        >
          {row.canUnfold ? (
            <button
              type="button"
              class="row-name"
              aria-expanded={row.isUnfolded}
              title={row.isUnfolded ? `Fold ${row.name}` : `Unfold ${row.name}`}
              onClick={() => toggleRow(row.id, row.station === "site")}
            >
              <span class="fold" aria-hidden="true">
                {row.isUnfolded ? "▾" : "▸"}
              </span>
              <span class="row-text">
                <span class="row-title">{row.name}</span>
                {height >= 38 && row.note && <span class="row-note">{row.note}</span>}
              </span>
            </button>
          ) : (
            <span class="row-name">
              <span class="row-text">
                <span class="row-title">{row.name}</span>
                {height >= 38 && row.note && <span class="row-note">{row.note}</span>}
              </span>
            </span>
          )}
          {mayPlan.value && !isImproving.value && row.unit && !row.isPart && row.station !== "site" && (
            <button
              type="button"
              class="row-out"
              aria-label={`Out of service: ${row.name}`}
              title={`Out of service: ${row.name}`}
              onClick={() => askOutOfService(row.unit!)}
            >
              <Sign name="spanner" />
            </button>
          )}
        </li>
      ))}
    </ul>
  );
}
