import { useMemo } from "preact/hooks";
import { clockFace, dayText, hhmm } from "../logic/clock.js";
import { type FullRow, fullness } from "../logic/fullness.js";
import { type Plan, zoneOf } from "../logic/plan.js";

/** Steps of fullness; each has its own number of marks, so that colour is not alone. */
function step(share: number | undefined): number {
  if (share === undefined) return -1;
  if (share < 0.02) return 0;
  if (share < 0.4) return 1;
  if (share < 0.7) return 2;
  if (share < 0.9) return 3;
  return 4;
}

function StripRow({ row, zone }: { row: FullRow; zone: string }) {
  return (
    <tr>
      <th scope="row">{row.name}</th>
      {row.cells.map((cell) => {
        const level = step(cell.share);
        const text = cell.share === undefined ? "none there" : `${Math.round(cell.share * 100)} % in use`;
        return (
          <td
            key={cell.fromMs}
            class={`full full-${level}`}
            title={`${row.name}, ${dayText(zone, cell.fromMs)} ${hhmm(zone, cell.fromMs)}: ${text}`}
          >
            {level >= 3 ? Math.round(cell.share! * 100) : ""}
            <span class="unseen">{level >= 3 ? "%" : text}</span>
          </td>
        );
      })}
    </tr>
  );
}

/** What gives out first: how full each kind of station is, hour by hour. */
export function FullnessStrip({ plan, name }: { plan: Plan; name: string }) {
  const rows = useMemo(() => fullness(plan), [plan]);
  const sites = plan.day.network.sites;
  return (
    <section class="card fullness">
      <h2>
        How full, hour by hour <span class="quiet small">{name}</span>
      </h2>
      <p class="quiet small">
        Share of what there is: positions, places, people on shift. Numbers are per cent, from 70 up. Dots: nobody
        there, or out of service.
      </p>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolled region must be reachable by keyboard */}
      <section class="fullness-scroll" tabIndex={0} aria-label="How full, hour by hour">
        <table>
          {sites.map((site) => {
            const own = rows.filter((row) => row.site === site.id);
            if (own.length === 0) return null;
            const zone = zoneOf(plan, site.id);
            return (
              <tbody key={site.id}>
                <tr class="fullness-head">
                  <th scope="col">{site.name}</th>
                  {own[0]!.cells.map((cell, i) => (
                    <th key={cell.fromMs} scope="col">
                      {i % 2 === 0 ? clockFace(zone, cell.fromMs).slice(0, 2) : ""}
                      {i % 2 === 1 && <span class="unseen">{hhmm(zone, cell.fromMs)}</span>}
                    </th>
                  ))}
                </tr>
                {own.map((row) => (
                  <StripRow key={`${row.station} ${row.name}`} row={row} zone={zone} />
                ))}
              </tbody>
            );
          })}
        </table>
      </section>
    </section>
  );
}
