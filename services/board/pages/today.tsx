import { useSignal } from "@preact/signals";
import { linesAsTold } from "../../../solver/problem/told.js";
import { drawTrouble, running, startDrawing, stopAndKeep } from "../data/drawing.js";
import { mayPlan } from "../data/session.js";
import { dayTime, hhmmSpan } from "../logic/clock.js";
import { DOES, type Plan, whatOf, zoneOf } from "../logic/plan.js";
import { money, tally } from "../logic/summary.js";
import { DrawProgress } from "../parts/draw-progress.js";
import { LookOnly } from "../parts/look-only.js";
import { OutOfServiceDialog } from "../parts/out-of-service.js";
import { SidePanel } from "../parts/side-panel.js";
import { isDark, isImproving, isPrinting, opened, plan } from "../state.js";
import { doughInks } from "../timetable/inks.js";
import { PrintedTimetable } from "../timetable/printed.js";
import { TimetableView } from "../timetable/timetable.js";
import {
  canSeeNow,
  frameWay,
  pickedLoad,
  pickedTask,
  roomy,
  showHours,
  showNow,
  showWhole,
  zoom,
} from "../timetable/view.js";

/** The least possible cost: of a search that goes on the latest that it has proved. */
function leastCost(current: Plan): number | undefined {
  if (!isImproving.value) return current.timetable.bound;
  return running.value?.news.findLast((news) => news.bound !== undefined)?.bound;
}

function Figures() {
  const current = plan.value!;
  const count = tally(current);
  const { timetable, day } = current;
  const bound = leastCost(current);
  const { total } = timetable.cost;
  const wanting = count.orders - count.onTime;
  return (
    <div class="figures">
      <div class={`figure ${wanting === 0 ? "good" : "alarm"}`}>
        <b>
          {count.onTime} of {count.orders}
        </b>
        <span>orders on time</span>
      </div>
      {count.late > 0 && (
        <div class="figure alarm">
          <b>{count.late}</b>
          <span>late</span>
        </div>
      )}
      {count.short > 0 && (
        <div class="figure alarm">
          <b>{count.short}</b>
          <span>short of pieces</span>
        </div>
      )}
      {count.notDrawn > 0 && (
        <div class="figure alarm">
          <b>{count.notDrawn}</b>
          <span>not drawn up as ordered</span>
        </div>
      )}
      <div class="figure">
        <b>{money(total, day.settings.currency)}</b>
        <span>cost, all counted</span>
      </div>
      <div class="figure" title="No timetable of these batches and loads can cost less than the bound.">
        <b>{bound === undefined ? "not known" : money(bound, day.settings.currency)}</b>
        <span>
          {bound === undefined || total <= 0
            ? "least possible cost"
            : `least possible, gap ${Math.max(0, (100 * (total - bound)) / total).toFixed(0)} %`}
        </span>
      </div>
    </div>
  );
}

function Tools() {
  const current = plan.value!;
  const inks = doughInks(current.day.catalogue.doughs, isDark.value);
  const used = new Set(current.timetable.batches.map((batch) => batch.dough));
  return (
    <div class="tools" role="toolbar" aria-label="View">
      <button type="button" class="btn slim" onClick={showWhole}>
        Whole day
      </button>
      <button type="button" class="btn slim" onClick={() => showHours(6)}>
        6 h
      </button>
      <button type="button" class="btn slim" onClick={() => showHours(2)}>
        2 h
      </button>
      <button type="button" class="btn slim" onClick={() => showHours(0.5)}>
        30 min
      </button>
      <button type="button" class="btn slim square" aria-label="Farther" title="Farther (−)" onClick={() => zoom(1.6)}>
        −
      </button>
      <button type="button" class="btn slim square" aria-label="Closer" title="Closer (+)" onClick={() => zoom(0.6)}>
        +
      </button>
      <button
        type="button"
        class="btn slim"
        disabled={!canSeeNow.value}
        title={canSeeNow.value ? "Go to the present time (n)" : "The present time is not part of this day"}
        onClick={showNow}
      >
        Now
      </button>
      <button
        type="button"
        class="btn slim"
        aria-pressed={roomy.value > 1}
        onClick={() => {
          roomy.value = roomy.value > 1 ? 1 : 1.7;
        }}
      >
        Tall rows
      </button>
      {pickedLoad.value && (
        <button
          type="button"
          class="btn slim"
          title="Show all of the picked load (w)"
          onClick={() => frameWay(pickedLoad.value!)}
        >
          Whole way
        </button>
      )}
      <ul class="legend" aria-label="Doughs">
        {current.day.catalogue.doughs
          .filter((dough) => used.has(dough.id))
          .map((dough) => (
            <li key={dough.id}>
              <span
                class="swatch"
                style={{ background: inks.get(dough.id)!.fill, borderColor: inks.get(dough.id)!.edge }}
              />
              {dough.name.replace(/ dough$/i, "")}
            </li>
          ))}
      </ul>
    </div>
  );
}

/** On narrow screens the picked task is below the picture: one press leads there. */
function PickedBar() {
  const task = pickedTask.value;
  const current = plan.value!;
  if (!task) return null;
  const zone = zoneOf(current, task.site);
  return (
    <button
      type="button"
      class="picked-bar"
      onClick={() => document.querySelector<HTMLElement>("[data-side]")?.scrollIntoView({ block: "start" })}
    >
      <b>{whatOf(current, task)}</b> {DOES[task.task.does].toLowerCase()} {hhmmSpan(zone, task)}{" "}
      <span aria-hidden="true">↓</span>
    </button>
  );
}

/** The day's timetable with what needs a person's eye beside it. */
export function TodayPage() {
  const seconds = useSignal(10);
  const day = opened.value!;
  const current = plan.value;
  const lines = linesAsTold(day.documents).length;
  const zone = current ? zoneOf(current, current.day.network.sites[0]!.id) : "UTC";
  return (
    <div class="today">
      <div class="today-head">
        <div class="today-name">
          <h1>{day.documents.settings.name}</h1>
          {current && (
            <p class="quiet small">
              {dayTime(zone, current.span.fromMs)} to {dayTime(zone, current.span.toMs)}, {current.day.network.name}
            </p>
          )}
        </div>
        {current && <Figures />}
        <div class="today-do">
          {running.value ? (
            <button
              type="button"
              class="btn main"
              disabled={running.value.isStopping || !mayPlan.value}
              onClick={() => void stopAndKeep()}
            >
              {running.value.isStopping ? "Stopping…" : "Stop and keep"}
            </button>
          ) : !mayPlan.value ? (
            <LookOnly does="draws up" />
          ) : (
            <>
              <label class="small quiet">
                Search for{" "}
                <select
                  class="entry"
                  value={String(seconds.value)}
                  onChange={(event) => {
                    seconds.value = Number(event.currentTarget.value);
                  }}
                >
                  <option value="5">5 s</option>
                  <option value="10">10 s</option>
                  <option value="30">30 s</option>
                  <option value="120">2 min</option>
                  <option value="600">10 min</option>
                </select>
              </label>
              <button type="button" class="btn main" onClick={() => void startDrawing(seconds.value)}>
                {current ? "Draw up again" : "Draw up"}
              </button>
            </>
          )}
        </div>
      </div>
      {current ? (
        <>
          <section class={`today-picture ${isImproving.value ? "is-improving" : ""}`} aria-label="Timetable">
            <Tools />
            <TimetableView />
          </section>
          <aside class="side" aria-label="About the timetable">
            {running.value && <DrawProgress />}
            {drawTrouble.value && (
              <p class="note alarm" role="alert">
                {drawTrouble.value.message} {drawTrouble.value.fix}
              </p>
            )}
            <SidePanel />
          </aside>
          <PickedBar />
          {isPrinting.value && <PrintedTimetable />}
          <OutOfServiceDialog />
        </>
      ) : (
        <div class="today-empty">
          {running.value ? (
            <DrawProgress />
          ) : (
            <>
              <h2>No timetable yet</h2>
              <p>
                {lines === 0 ? (
                  <>
                    No orders yet. <a href="#/orders">Type, paste or upload them under Orders.</a>
                  </>
                ) : (
                  <>
                    {lines} orders for {day.documents.network.sites.length} sites wait.
                  </>
                )}{" "}
                Drawing up decides who mixes, shapes and bakes what, where and when, and says which orders would be late
                and why.
              </p>
              {drawTrouble.value && (
                <p class="note alarm" role="alert">
                  {drawTrouble.value.message} {drawTrouble.value.fix}
                </p>
              )}
            </>
          )}
        </div>
      )}
    </div>
  );
}
