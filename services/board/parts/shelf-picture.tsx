import { duration, hhmm } from "../logic/clock.js";
import { drawnY, type ShelfView } from "../logic/instant.js";
import { outageText } from "../logic/outages.js";
import { type Plan, whatOf, zoneOf } from "../logic/plan.js";
import type { DoughInk } from "../timetable/inks.js";

/** A shelf from above, to scale, its front at the bottom as on paper, with the tubs or pans on it. */
export function ShelfPicture({
  view,
  current,
  inks,
  ms,
  name,
}: {
  view: ShelfView;
  current: Plan;
  inks: Map<string, DoughInk>;
  ms: number;
  name: string;
}) {
  const { shelf, outage } = view;
  const by = new Map(view.standing.map((one) => [one.position, one]));
  const zone = zoneOf(current, view.unit.split("/")[0]!);
  const troubles = view.standing
    .filter((one) => one.overTime || one.overMass)
    .map((one) => `position ${one.position} ${one.overTime ? "stands too long" : "holds too much"}`);
  return (
    <figure class="shelf">
      <figcaption>
        <b>{name}</b> {outage && <span class="tag alarm">{outageText(zone, outage, ms)}</span>}{" "}
        <span class="quiet">
          {view.standing.length} of {view.layout.count}, {(view.massG / 1000).toFixed(0)} of{" "}
          {(shelf.maxMassG / 1000).toFixed(0)} kg
        </span>
        {troubles.map((trouble) => (
          <span key={trouble} class="tag alarm">
            {trouble}
          </span>
        ))}
      </figcaption>
      <svg
        viewBox={`0 0 ${shelf.widthMm} ${shelf.depthMm}`}
        role="img"
        aria-label={`${name}${outage ? `, ${outageText(zone, outage, ms)}` : ""}: ${view.standing.map((one) => whatOf(current, one.task)).join(", ") || "empty"}${troubles.map((trouble) => `, ${trouble}`).join("")}; front at the bottom`}
      >
        <rect class="plate" x={1} y={1} width={shelf.widthMm - 2} height={shelf.depthMm - 2} rx={12} />
        {view.layout.places.map((place, i) => {
          const one = by.get(i + 1);
          const ink = one ? inks.get(one.task.dough ?? "") : undefined;
          const top = drawnY(shelf.depthMm, place);
          return (
            <g key={`${place.xMm} ${place.yMm}`}>
              <rect
                class={one ? "item" : "free"}
                x={place.xMm}
                y={top}
                width={place.widthMm}
                height={place.depthMm}
                rx={view.kind === "tub" ? 30 : 8}
                style={one && ink ? { fill: ink.fill, stroke: ink.edge } : undefined}
              >
                {one && (
                  <title>
                    {whatOf(current, one.task)}, {one.item}: {(one.massG / 1000).toFixed(1)} kg, in since{" "}
                    {hhmm(zone, one.sinceMs)} ({duration(ms - one.sinceMs)}), out {hhmm(zone, one.untilMs)}
                  </title>
                )}
              </rect>
              {one && (
                <text
                  class="item-text"
                  x={place.xMm + place.widthMm / 2}
                  y={top + place.depthMm / 2 + 34}
                  style={{ fontSize: "104px" }}
                >
                  {ink?.mark}
                </text>
              )}
              {one && (one.overTime || one.overMass) && (
                <path class="over" d={`M${place.xMm + place.widthMm} ${top}v150l-150 -150z`} />
              )}
            </g>
          );
        })}
      </svg>
    </figure>
  );
}
