import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import type { StoodWarm } from "../../../schemas/index.js";
import { WARM_CAUTION, warmText } from "../../../solver/repair/warm-words.js";
import { CAUTIONS, COMES_FIRST } from "../../../solver/trade/cautions.js";
import { isMarked } from "../../marks/mark.js";
import {
  accept,
  changes,
  discard,
  isStale,
  pending,
  proposalTrouble,
  proposedPlan,
  removePending,
  takeOther,
  working,
  workOut,
} from "../data/proposal.js";
import { mayPlan } from "../data/session.js";
import { type Carry, spotOf } from "../logic/carries.js";
import { type LoadChange, loadName, type TaskChange } from "../logic/changes.js";
import { dayTime, hhmm } from "../logic/clock.js";
import { DOES, type Plan, zoneOf } from "../logic/plan.js";
import { money } from "../logic/summary.js";
import { forcePlan, isPrinting, proposed, showsProposal } from "../state.js";
import { pick } from "../timetable/keys.js";
import { frameWay } from "../timetable/view.js";
import { Faults } from "./faults.js";
import { happeningText } from "./happening-text.js";
import { LookOnly } from "./look-only.js";
import { OrderChanges } from "./order-changes.js";

function byText(minutes: number): string {
  if (minutes === 0) return "";
  return minutes > 0 ? `${minutes} min later` : `${-minutes} min earlier`;
}

/** From where to where, when, and what is left: all that is to be done about it. */
function CarryLine({ plan, carry }: { plan: Plan; carry: Carry }) {
  const { first, rest, isHot, leftMinutes } = carry;
  const zone = zoneOf(plan, rest.site);
  const [out, into] = [hhmm(zone, first.toMs), hhmm(zone, rest.fromMs)];
  return (
    <li class="is-carry">
      <b>Carry</b> {isHot && "half-baked "}from {spotOf(plan, carry.from)} to <b>{spotOf(plan, carry.to)}</b>:{" "}
      {out === into ? (
        <>
          at <b>{out}</b>
        </>
      ) : (
        <>
          out <b>{out}</b>, in <b>{into}</b>
        </>
      )}
      {isHot ? `, ${leftMinutes} min left, done ` : ", there until "}
      <b>{hhmm(zone, rest.toMs)}</b>
    </li>
  );
}

function TaskLine({ plan, change }: { plan: Plan; change: TaskChange }) {
  if (change.carry) return <CarryLine plan={plan} carry={change.carry} />;
  const zone = zoneOf(plan, change.after.site);
  return (
    <li>
      {DOES[change.after.task.does]} {hhmm(zone, change.before.fromMs)}
      {change.byMinutes !== 0 && (
        <>
          {" "}
          → <b>{hhmm(zone, change.after.fromMs)}</b> <span class="quiet">{byText(change.byMinutes)}</span>
        </>
      )}
      {change.whereAfter !== undefined && (
        <>
          , {change.whereBefore || "nowhere"} → <b>{change.whereAfter || "nowhere"}</b>
        </>
      )}
    </li>
  );
}

const AT_FIRST = 25;

const KINDS: Readonly<Record<LoadChange["kind"], string>> = {
  moved: "",
  gone: "no longer made",
  scrapped: "thrown away",
  new: "new",
  pieces: "other pieces",
};

function Loads({ plan, loads }: { plan: Plan; loads: readonly LoadChange[] }) {
  const all = useSignal(false);
  const shown = all.value || isPrinting.value ? loads : loads.slice(0, AT_FIRST);
  return (
    <ul class="change-loads">
      {shown.map((load) => (
        <li key={`${load.kind} ${load.id}`}>
          <button
            type="button"
            class="want"
            onClick={() => {
              const task = load.tasks[0]?.after.id ?? proposedPlan.value?.byLoad.get(load.id)?.[0]?.id;
              if (plan.loads.has(load.id)) frameWay(load.id);
              if (task) pick(task);
            }}
          >
            <b>{load.what}</b>
            <span class="quiet">{dayTime(zoneOf(plan, load.site), load.firstMs)}</span>
            {KINDS[load.kind] && (
              <span class={`tag ${load.kind === "gone" || load.kind === "scrapped" ? "alarm" : ""}`}>
                {KINDS[load.kind]}
                {load.pieces ? ` ${load.pieces.before} → ${load.pieces.after}` : ""}
              </span>
            )}
            <ul class="why">
              {load.tasks.map((change) => (
                <TaskLine key={change.after.id} plan={plan} change={change} />
              ))}
            </ul>
          </button>
        </li>
      ))}
      {loads.length > shown.length && (
        <li>
          <button
            type="button"
            class="btn slim bare"
            onClick={() => {
              all.value = true;
            }}
          >
            Show all {loads.length}
          </button>
        </li>
      )}
    </ul>
  );
}

/** Pins that what happened leaves no room for. */
function GivenUp({ plan, tasks, why }: { plan: Plan; tasks: readonly string[]; why: string }) {
  if (tasks.length === 0) return null;
  const words = tasks.map((id) => {
    const task = plan.byId.get(id)?.task;
    if (!task) return id;
    const what = task.load === undefined ? (task.batch ?? "") : loadName(plan, task.load);
    return `${DOES[task.does]} ${what}`;
  });
  return (
    <p class="small note warn">
      Held no longer, because {why} it cannot be kept: {words.join("; ")}.
    </p>
  );
}

/** Dough that stands warm for longer than the plan knows. */
function NotInCold({ plan, warm }: { plan: Plan; warm: readonly StoodWarm[] }) {
  if (warm.length === 0) return null;
  const clock = (instant: string, site: string): string => hhmm(zoneOf(plan, site), Date.parse(instant));
  return (
    <p class="small note warn">
      {warm.map((one) => warmText(one, clock)).join(" ")} {WARM_CAUTION}
    </p>
  );
}

/** What has happened or is wanted, what it would change, and the decision. */
export function ChangesCard() {
  const list = changes.value;
  const current = forcePlan.value;
  const box = useRef<HTMLElement>(null);
  const isThere = list !== undefined;
  useEffect(() => {
    // Where it stands below the picture nobody would see that there is something to decide.
    if (isThere && matchMedia("(max-width: 1080px)").matches) box.current?.scrollIntoView({ block: "start" });
  }, [isThere]);
  if (!current || (pending.value.length === 0 && !proposed.value)) return null;
  const after = proposedPlan.value ?? current;
  const acceptAll = async (): Promise<void> => {
    await accept();
    // What is in force now is read from its beginning.
    if (proposed.value) return;
    document.querySelector(".side")?.scrollTo(0, 0);
    scrollTo(0, 0);
  };
  const marked = proposed.value?.documents.happenings.happenings.filter(isMarked).length ?? 0;
  return (
    <section ref={box} class="card changes" aria-label="Changes">
      <h2>{list ? "If you accept" : "To be worked in"}</h2>
      <ul class="pending">
        {pending.value.map((happening, i) => (
          <li key={`${i} ${JSON.stringify(happening)}`}>
            <span>{happeningText(current, happening)}</span>
            <button
              type="button"
              class="btn slim bare"
              aria-label="Take back"
              disabled={working.value || !mayPlan.value}
              onClick={() => removePending(i)}
            >
              ✕
            </button>
          </li>
        ))}
      </ul>
      {proposalTrouble.value && <Faults error={proposalTrouble.value} />}
      {working.value && (
        <p class="small" role="status">
          Working out the fewest changes…
        </p>
      )}
      {list && (
        <>
          <p class="small">
            <b>
              {list.loads.length} {list.loads.length === 1 ? "change" : "changes"}
            </b>
            , cost {money(list.costBefore, undefined)} → {money(list.costAfter, current.day.settings.currency)}
          </p>
          {marked > 0 && (
            <p class="small quiet">
              Goes by {marked} {marked === 1 ? "thing" : "things"} that the kitchen marked.
            </p>
          )}
          <OrderChanges plan={after} orders={list.orders} told={proposed.value?.told} />
          <NotInCold plan={after} warm={proposed.value?.told?.warm ?? []} />
          <GivenUp plan={current} tasks={proposed.value?.told?.givenUp ?? []} why="after what happened" />
          <GivenUp plan={current} tasks={proposed.value?.letGo ?? []} why="as everything is set up now" />
          <Loads plan={after} loads={list.loads} />
          {list.loads.some(({ tasks }) => tasks.some(({ carry }) => carry?.isHot)) && (
            <p class="small note warn">
              What is carried half-baked is hot. {CAUTIONS["hot-decks"]} {COMES_FIRST}
            </p>
          )}
          {proposed.value?.second && (
            <button type="button" class="btn slim" onClick={takeOther}>
              {proposed.value.second.for === "fewer-moves" ? "Another way: fewer changes" : "Another way: less late"}
            </button>
          )}
          <LookOnly does="accepts changes" />
          {isStale.value && !working.value && (
            <p class="small note warn" role="status">
              The day was changed since this was worked out, here or on another screen; these changes do not know of it.
              {pending.value.length === 0 && " Discard them and draw up again."}
            </p>
          )}
          <div class="move-do sticky">
            {isStale.value && pending.value.length > 0 ? (
              <button
                type="button"
                class="btn main"
                disabled={working.value || !mayPlan.value}
                onClick={() => void workOut()}
              >
                Work them out again
              </button>
            ) : (
              <button
                type="button"
                class="btn main"
                disabled={working.value || !mayPlan.value || isStale.value}
                onClick={() => void acceptAll()}
              >
                Accept
              </button>
            )}
            <button type="button" class="btn" disabled={working.value} onClick={discard}>
              Discard
            </button>
            <button
              type="button"
              class="btn slim"
              aria-pressed={!showsProposal.value}
              onClick={() => {
                showsProposal.value = !showsProposal.value;
              }}
            >
              As it is now
            </button>
          </div>
        </>
      )}
      {!list && !working.value && (
        <div class="move-do">
          <button type="button" class="btn main" disabled={!mayPlan.value} onClick={() => void workOut()}>
            Work out the changes
          </button>
          <button type="button" class="btn" onClick={discard}>
            Discard
          </button>
        </div>
      )}
    </section>
  );
}
