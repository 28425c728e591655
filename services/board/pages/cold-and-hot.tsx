import { useComputed, useSignal } from "@preact/signals";
import { useMemo } from "preact/hooks";
import { dayText, hhmm, MINUTE } from "../logic/clock.js";
import { fridgeAt, ovenAt, Stays } from "../logic/instant.js";
import { staircase } from "../logic/levels.js";
import { DeckPicture } from "../parts/deck-picture.js";
import { Scrubber } from "../parts/scrubber.js";
import { ShelfPicture } from "../parts/shelf-picture.js";
import { decidedPlan, forcePlan, isDark, nowMs } from "../state.js";
import { doughInks } from "../timetable/inks.js";
import { canSeeNow } from "../timetable/view.js";

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
            <span class="quiet small">
              from above, door at the bottom{oven.sharedThermostat ? ", one temperature for all decks" : ""}
            </span>
          </h2>
          <div class="decks">
            {ovenAt(stays, site.id, oven, ms).map((view) => (
              <DeckPicture
                key={view.unit}
                view={view}
                current={current}
                inks={inks}
                ms={ms}
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
                from above, front at the bottom; {fridge.airTempC} °C, {standing} of{" "}
                {views.reduce((sum, view) => sum + view.layout.count, 0)} positions in use
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
