import { hhmm } from "../logic/clock.js";
import { type DeckView, drawnY } from "../logic/instant.js";
import { outageText } from "../logic/outages.js";
import { type Plan, whatOf, zoneOf } from "../logic/plan.js";
import type { DoughInk } from "../timetable/inks.js";

/** A deck from above, to scale, its door at the bottom as on paper, with its pans and their pieces. */
export function DeckPicture({
  view,
  current,
  inks,
  ms,
  name,
}: {
  view: DeckView;
  current: Plan;
  inks: Map<string, DoughInk>;
  ms: number;
  name: string;
}) {
  const { deck, outage } = view;
  const by = new Map(view.standing.map((one) => [one.position, one]));
  const zone = zoneOf(current, view.unit.split("/")[0]!);
  const heat = outage
    ? outageText(zone, outage, ms)
    : view.heat === "off"
      ? "off"
      : view.heat === "warming"
        ? `warming to ${view.tempC} °C, hot ${hhmm(zone, view.hotMs!)}`
        : `${view.tempC} °C`;
  const loads = new Map(view.standing.map((one) => [one.task.id, one.task]));
  return (
    <figure class={`deck ${outage ? "is-out" : `heat-${view.heat}`}`}>
      <figcaption>
        <b>{name}</b> <span class={outage ? "tag alarm" : `tag heat-tag ${view.heat}`}>{heat}</span>
      </figcaption>
      <svg
        viewBox={`0 0 ${deck.widthMm} ${deck.depthMm}`}
        role="img"
        aria-label={`${name}, ${heat}: ${[...loads.values()].map((task) => whatOf(current, task)).join(", ") || "empty"}; door at the bottom`}
      >
        <rect class="plate" x={2} y={2} width={deck.widthMm - 4} height={deck.depthMm - 4} rx={10} />
        {view.layout.places.map((place, i) => {
          const one = by.get(i + 1);
          const ink = one ? inks.get(one.task.dough ?? "") : undefined;
          const rim = view.pan?.rimMm ?? 0;
          const top = drawnY(deck.depthMm, place);
          return (
            <g key={`${place.xMm} ${place.yMm}`}>
              <rect
                class={one ? "pan" : "free"}
                x={place.xMm}
                y={top}
                width={place.widthMm}
                height={place.depthMm}
                rx={10}
              />
              {one?.pieces.places.slice(0, one.onPan).map((piece) => {
                // A pan that lies turned has its pieces turned with it.
                const w = place.turned ? piece.depthMm : piece.widthMm;
                const h = place.turned ? piece.widthMm : piece.depthMm;
                const x = place.xMm + rim + (place.turned ? piece.yMm : piece.xMm);
                const y = top + place.depthMm - rim - (place.turned ? piece.xMm : piece.yMm) - h;
                const isRound = one.task.product?.shape.form === "round";
                return (
                  <rect
                    key={`${piece.xMm} ${piece.yMm}`}
                    class="piece"
                    x={x}
                    y={y}
                    width={w}
                    height={h}
                    rx={isRound ? w / 2 : Math.min(w, h) / 3}
                    style={ink ? { fill: ink.fill, stroke: ink.edge } : undefined}
                  />
                );
              })}
              <text class="position" x={place.xMm + 22} y={top + 62}>
                {i + 1}
              </text>
            </g>
          );
        })}
      </svg>
      <p class="door small">door</p>
      <ul class="deck-loads small">
        {[...loads.values()].map((task) => (
          <li key={task.id}>
            <span
              class="swatch"
              style={{ background: inks.get(task.dough ?? "")?.fill, borderColor: inks.get(task.dough ?? "")?.edge }}
            />{" "}
            {whatOf(current, task)}, out <b>{hhmm(zone, task.toMs)}</b>
          </li>
        ))}
        {loads.size === 0 && <li class="quiet">empty</li>}
      </ul>
    </figure>
  );
}
