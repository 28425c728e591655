import { useComputed, useSignal } from "@preact/signals";
import { useMemo } from "preact/hooks";
import { dayText, duration, hhmm, MINUTE } from "../logic/clock.js";
import { type DeckView, fridgeAt, ovenAt, type ShelfView, Stays } from "../logic/instant.js";
import { staircase } from "../logic/levels.js";
import { type Plan, whatOf, zoneOf } from "../logic/plan.js";
import { decidedPlan, forcePlan, isDark, nowMs } from "../state.js";
import { type DoughInk, doughInks } from "../timetable/inks.js";
import { canSeeNow } from "../timetable/view.js";

function Scrubber({
  current,
  ms,
  onChange,
  counts,
}: {
  current: Plan;
  ms: number;
  onChange: (ms: number) => void;
  counts: { ms: number; used: number }[];
}) {
  const { fromMs, toMs } = current.span;
  const peak = Math.max(1, ...counts.map((level) => level.used));
  const x = (at: number): number => ((at - fromMs) / (toMs - fromMs)) * 1000;
  let path = "M0 40";
  let last = 0;
  for (const level of counts) {
    const at = x(Math.min(Math.max(level.ms, fromMs), toMs));
    path += `L${at.toFixed(1)} ${(40 - (last / peak) * 36).toFixed(1)}L${at.toFixed(1)} ${(40 - (level.used / peak) * 36).toFixed(1)}`;
    last = level.used;
  }
  return (
    <div class="scrub-track">
      <svg viewBox="0 0 1000 40" preserveAspectRatio="none" aria-hidden="true">
        <path d={`${path}L1000 40Z`} />
      </svg>
      <input
        type="range"
        aria-label="Time"
        min={fromMs}
        max={toMs}
        step={MINUTE}
        value={ms}
        onInput={(event) => onChange(Number(event.currentTarget.value))}
      />
    </div>
  );
}

function ShelfPicture({
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
  const { shelf } = view;
  const by = new Map(view.standing.map((one) => [one.position, one]));
  const zone = zoneOf(current, view.unit.split("/")[0]!);
  return (
    <figure class="shelf">
      <figcaption>
        <b>{name}</b>{" "}
        <span class="quiet">
          {view.standing.length} of {view.layout.count}, {(view.massG / 1000).toFixed(0)} of{" "}
          {(shelf.maxMassG / 1000).toFixed(0)} kg
        </span>
      </figcaption>
      <svg
        viewBox={`0 0 ${shelf.widthMm} ${shelf.depthMm}`}
        role="img"
        aria-label={`${name}: ${view.standing.map((one) => whatOf(current, one.task)).join(", ") || "empty"}`}
      >
        <rect class="plate" x={1} y={1} width={shelf.widthMm - 2} height={shelf.depthMm - 2} rx={12} />
        {view.layout.places.map((place, i) => {
          const one = by.get(i + 1);
          const ink = one ? inks.get(one.task.dough ?? "") : undefined;
          return (
            <g key={`${place.xMm} ${place.yMm}`}>
              <rect
                class={one ? "item" : "free"}
                x={place.xMm}
                y={place.yMm}
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
                  y={place.yMm + place.depthMm / 2 + 34}
                  style={{ fontSize: "104px" }}
                >
                  {ink?.mark}
                </text>
              )}
              {one && (one.overTime || one.overMass) && (
                <path class="over" d={`M${place.xMm + place.widthMm} ${place.yMm}v150l-150 -150z`} />
              )}
            </g>
          );
        })}
      </svg>
    </figure>
  );
}

function DeckPicture({
  view,
  current,
  inks,
  name,
}: {
  view: DeckView;
  current: Plan;
  inks: Map<string, DoughInk>;
  name: string;
}) {
  const { deck } = view;
  const by = new Map(view.standing.map((one) => [one.position, one]));
  const zone = zoneOf(current, view.unit.split("/")[0]!);
  const heat =
    view.heat === "off"
      ? "off"
      : view.heat === "warming"
        ? `warming to ${view.tempC} °C, hot ${hhmm(zone, view.hotMs!)}`
        : `${view.tempC} °C`;
  const loads = new Map(view.standing.map((one) => [one.task.id, one.task]));
  return (
    <figure class={`deck heat-${view.heat}`}>
      <figcaption>
        <b>{name}</b> <span class={`tag heat-tag ${view.heat}`}>{heat}</span>
      </figcaption>
      <svg
        viewBox={`0 0 ${deck.widthMm} ${deck.depthMm}`}
        role="img"
        aria-label={`${name}, ${heat}: ${[...loads.values()].map((task) => whatOf(current, task)).join(", ") || "empty"}`}
      >
        <rect class="plate" x={2} y={2} width={deck.widthMm - 4} height={deck.depthMm - 4} rx={10} />
        {view.layout.places.map((place, i) => {
          const one = by.get(i + 1);
          const ink = one ? inks.get(one.task.dough ?? "") : undefined;
          const rim = view.pan?.rimMm ?? 0;
          return (
            <g key={`${place.xMm} ${place.yMm}`}>
              <rect
                class={one ? "pan" : "free"}
                x={place.xMm}
                y={place.yMm}
                width={place.widthMm}
                height={place.depthMm}
                rx={10}
              />
              {one?.pieces.places.slice(0, one.onPan).map((piece) => {
                // A pan that lies turned has its pieces turned with it.
                const x = place.xMm + rim + (place.turned ? piece.yMm : piece.xMm);
                const y = place.yMm + rim + (place.turned ? piece.xMm : piece.yMm);
                const w = place.turned ? piece.depthMm : piece.widthMm;
                const h = place.turned ? piece.widthMm : piece.depthMm;
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
              <text class="position" x={place.xMm + 22} y={place.yMm + 62}>
                {i + 1}
              </text>
            </g>
          );
        })}
      </svg>
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

/** Fridges and ovens at an instant, drawn to scale; the time is scrubbed through the night. */
export function ColdAndHotPage() {
  const current = decidedPlan.value;
  const chosen = useSignal<number | undefined>(undefined);
  const siteId = useSignal("");
  const stays = useMemo(() => (current ? new Stays(current) : undefined), [current]);
  const counts = useComputed(() => {
    const { value } = decidedPlan;
    return staircase(
      (value?.tasks ?? [])
        .filter(
          (task) =>
            (task.task.does === "retard" || task.task.does === "bake") &&
            (siteId.value === "" || task.site === siteId.value),
        )
        .map((task) => ({ fromMs: task.fromMs, toMs: task.toMs, amount: task.task.places?.length ?? 0 })),
    ).map(({ ms, used }) => ({ ms, used }));
  });
  if (!current || !stays) return <p class="waiting">There is no timetable yet. Draw one up under Today.</p>;
  const ms =
    chosen.value ??
    (canSeeNow.value ? Math.floor(nowMs.value / MINUTE) * MINUTE : (current.span.fromMs + current.span.toMs) / 2);
  const site = current.sites.get(siteId.value) ?? current.day.network.sites[0]!;
  const inks = doughInks(current.day.catalogue.doughs, isDark.value);
  const set = (at: number): void => {
    chosen.value = Math.min(Math.max(at, current.span.fromMs), current.span.toMs);
  };
  const troubles = site.fridges
    .flatMap((fridge) => fridgeAt(stays, site.id, fridge, ms))
    .flatMap((view) => view.standing.filter((one) => one.overMass || one.overTime));
  return (
    <div class="page cold-hot">
      <header>
        <h1>Fridge and ovens</h1>
        <p>
          Drawn to scale, as they stand at the chosen time
          {current === forcePlan.value ? "." : " by the proposed timetable, which is not in force."}
        </p>
      </header>
      <div class="scrub card">
        <div class="scrub-time">
          <b>{hhmm(site.timeZone, ms)}</b>
          <span class="quiet">{dayText(site.timeZone, ms)}</span>
        </div>
        <Scrubber current={current} ms={ms} onChange={set} counts={counts.value} />
        <div class="scrub-do">
          {[-60, -5, 5, 60].map((minutes) => (
            <button key={minutes} type="button" class="btn slim" onClick={() => set(ms + minutes * MINUTE)}>
              {minutes > 0 ? "+" : "−"}
              {Math.abs(minutes) === 60 ? "1 h" : "5 min"}
            </button>
          ))}
          <button
            type="button"
            class="btn slim"
            disabled={!canSeeNow.value}
            onClick={() => {
              chosen.value = undefined;
            }}
          >
            Now
          </button>
        </div>
        <fieldset class="fates">
          <legend class="unseen">Site</legend>
          {current.day.network.sites.map((one) => (
            <button
              key={one.id}
              type="button"
              class="btn slim"
              aria-pressed={one.id === site.id}
              onClick={() => {
                siteId.value = one.id;
              }}
            >
              {one.name}
            </button>
          ))}
        </fieldset>
      </div>
      {troubles.length > 0 && (
        <p class="note alarm">
          {troubles.length} {troubles.length === 1 ? "container stands" : "containers stand"} longer than the route
          allows or hold too much; each has a red corner.
        </p>
      )}
      {site.ovens.map((oven) => (
        <section key={oven.id} class="card unit-card">
          <h2>
            {oven.name}{" "}
            <span class="quiet small">from above{oven.sharedThermostat ? ", one temperature for all decks" : ""}</span>
          </h2>
          <div class="decks">
            {ovenAt(stays, site.id, oven, ms).map((view) => (
              <DeckPicture
                key={view.unit}
                view={view}
                current={current}
                inks={inks}
                name={view.deck.id.replace(/-/g, " ")}
              />
            ))}
          </div>
        </section>
      ))}
      {site.fridges.map((fridge) => {
        const views = fridgeAt(stays, site.id, fridge, ms);
        const standing = views.reduce((sum, view) => sum + view.standing.length, 0);
        return (
          <section key={fridge.id} class="card unit-card">
            <h2>
              {fridge.name}{" "}
              <span class="quiet small">
                {fridge.airTempC} °C, {standing} of {views.reduce((sum, view) => sum + view.layout.count, 0)} positions
                in use
              </span>
            </h2>
            <div class="shelves">
              {views.map((view) => (
                <ShelfPicture
                  key={view.unit}
                  view={view}
                  current={current}
                  inks={inks}
                  ms={ms}
                  name={view.shelf.id.replace(/-/g, " ")}
                />
              ))}
            </div>
          </section>
        );
      })}
      <p class="quiet small">
        Times in the cold are planned times against the limits that you entered; they do not prove that food is safe.
        Local food code comes first.
      </p>
    </div>
  );
}
