import { mayPin } from "../data/pins.js";
import { mayPlan } from "../data/session.js";
import { duration, hhmm } from "../logic/clock.js";
import { canMove } from "../logic/hand-move.js";
import { type Limit, limitOf } from "../logic/limits.js";
import { DOES, type Plan, type PlannedTask, wayOf, whatOf, whereOf, zoneOf } from "../logic/plan.js";
import { isImproving, plan } from "../state.js";
import { pick } from "../timetable/keys.js";
import { picked, pickedTask } from "../timetable/view.js";
import { MoveForm } from "./move-form.js";
import { PinControls } from "./pin-controls.js";
import { Sign } from "./sign.js";

function LimitBar({ limit }: { limit: Limit }) {
  const top = Math.max(limit.greatest, limit.minutes) * 1.04 || 1;
  const share = (n: number): string => `${(100 * n) / top}%`;
  return (
    <>
      <span class="limits" aria-hidden="true">
        <i style={{ left: share(limit.least), width: share(limit.greatest - limit.least) }} />
        <u style={{ left: share(limit.minutes) }} />
      </span>
      <span class="detail">
        allowed {duration(limit.least * 60_000)} to {duration(limit.greatest * 60_000)}
      </span>
    </>
  );
}

function details(current: Plan, task: PlannedTask): string {
  const parts = [duration(task.toMs - task.fromMs)];
  const where = whereOf(current, task.task);
  if (where) parts.push(where);
  if (task.task.does === "bake") {
    const positions = (task.task.places ?? []).map((place) => place.position).sort((a, b) => a - b);
    parts.push(`${task.task.tempC} °C`, `position ${positions.join(" ")}`);
  }
  if (task.task.dips) parts.push(`${task.task.dips.length} dips`);
  if (task.task.crew) parts.push(`${task.task.crew.heads} of ${crewName(current, task)}`);
  return parts.join(" · ");
}

function crewName(current: Plan, task: PlannedTask): string {
  const site = current.sites.get(task.site);
  return site?.crew.find((group) => group.id === task.task.crew?.group)?.name ?? task.task.crew?.group ?? "";
}

/** The picked load from tub to van, every step with its time, place and the limits of its waits. */
export function WayCard() {
  const current = plan.value!;
  const task = pickedTask.value!;
  const { load } = task;
  const way = load ? wayOf(current, load.id) : [task];
  const sites = new Set(way.map((step) => step.site));
  return (
    <section class="card" data-side tabIndex={-1} aria-label="Picked">
      <div class="side-title">
        <div>
          <h2>{whatOf(current, task)}</h2>
          <p class="small quiet">
            {load
              ? `${load.pans} ${load.pans === 1 ? "pan" : "pans"}, load ${load.id}, batch ${load.batch}`
              : `${DOES[task.task.does]}${task.batch ? `, batch ${task.batch.id}` : ""}`}
          </p>
        </div>
        <button type="button" class="btn slim bare" onClick={() => pick(undefined)} aria-label="Close">
          ✕
        </button>
      </div>
      {load && <LoadOrders loadId={load.id} />}
      <ol class="way">
        {way.map((step) => {
          const limit = step.load ? limitOf(step, way) : undefined;
          const site = sites.size > 1 ? ` · ${current.sites.get(step.site)?.name}` : "";
          return (
            <li key={step.id} class={`way-step ${step.id === picked.value ? "is-picked" : ""}`}>
              <span class="way-time">{hhmm(zoneOf(current, step.site), step.fromMs)}</span>
              <span class="way-rail" aria-hidden="true" />
              <button
                type="button"
                class="way-body"
                aria-current={step.id === picked.value ? "step" : undefined}
                onClick={() => pick(step.id)}
              >
                <b>
                  {DOES[step.task.does]}
                  {current.pins.has(step.id) && (
                    <span class="pinned-sign" title="Pinned">
                      <Sign name="pin" />
                      <span class="unseen">, pinned</span>
                    </span>
                  )}
                </b>
                <span class="detail">
                  {details(current, step)}
                  {site}
                </span>
                {limit && <LimitBar limit={limit} />}
              </button>
              {step.id === picked.value &&
                canMove(step.task, current.pins.get(step.id)) &&
                mayPlan.value &&
                !isImproving.value && <MoveForm key={step.id} />}
              {step.id === picked.value && mayPin.value && <PinControls plan={current} task={step} way={way} />}
            </li>
          );
        })}
      </ol>
    </section>
  );
}

function LoadOrders({ loadId }: { loadId: string }) {
  const current = plan.value!;
  const load = current.loads.get(loadId)!;
  return (
    <ul class="small">
      {load.orders.map((share) => {
        const line = current.lines.get(share.line);
        const outcome = current.outcomes.get(share.line);
        const zone = zoneOf(current, line?.site ?? "");
        return (
          <li key={share.line}>
            {share.pieces} for {line?.customer ?? current.sites.get(line?.site ?? "")?.name}, due{" "}
            {outcome ? hhmm(zone, Date.parse(outcome.due)) : ""}{" "}
            {outcome?.state === "on-time" ? (
              <span class="tag good">on time</span>
            ) : (
              <span class="tag alarm">
                {outcome && outcome.lateMinutes > 0 ? `${outcome.lateMinutes} min late` : "short"}
              </span>
            )}
          </li>
        );
      })}
      {load.surplusPieces > 0 && <li class="quiet">{load.surplusPieces} over, from whole pans</li>}
    </ul>
  );
}
