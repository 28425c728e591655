import { useMemo } from "preact/hooks";
import { clockFace, dayText, hhmm } from "../logic/clock.js";
import { type FullRow, fullness } from "../logic/fullness.js";
import { type Plan, zoneOf } from "../logic/plan.js";

/** What the colours mean. */
const STEPS = ["free", "some, under 40 %", "busy, from 40 %", "tight, from 70 %", "full, from 90 %"] as const;

/** Steps of fullness: a colour each; the number stands in every cell, so that colour is not alone. */
function step(share: number | undefined): number {
  if (share === undefined) return -1;
  const percent = Math.round(share * 100);
  if (percent < 2) return 0;
  if (percent < 40) return 1;
  if (percent < 70) return 2;
  if (percent < 90) return 3;
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
            {level >= 1 ? Math.round(cell.share! * 100) : ""}
            <span class="unseen">{level >= 1 ? "%" : text}</span>
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
      <p class="quiet small">Share of what there is, per cent: positions, places, people on shift.</p>
      <ul class="full-steps small" aria-label="What the colours mean">
        {STEPS.map((words, i) => (
          <li key={words}>
            <span class={`full full-${i}`} /> {words}
          </li>
        ))}
        <li>
          <span class="full full--1" /> nobody there, or out of service
        </li>
      </ul>
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
