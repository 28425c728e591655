import { signal, useSignal } from "@preact/signals";
import { useMemo } from "preact/hooks";
import type { Balance, Wish } from "../../../schemas/index.js";
import { account } from "../../../solver/balance/account.js";
import { Question } from "../data/question.js";
import { mayPlan } from "../data/session.js";
import { type Plan, readPlan } from "../logic/plan.js";
import { money, tally } from "../logic/summary.js";
import { wishings, wishText } from "../logic/wishes.js";
import { AskForm } from "../parts/ask-form.js";
import { MakesTable, RidesTable, SiteShares } from "../parts/balance-tables.js";
import { FullnessStrip } from "../parts/fullness-strip.js";
import { LookOnly } from "../parts/look-only.js";
import { QuestionProgress } from "../parts/question-progress.js";
import { SecondsChoice } from "../parts/seconds-choice.js";
import { forcePlan, opened, proposed, showsProposal, spoken } from "../state.js";

const question = new Question<Balance, { wishes: readonly Wish[]; seconds: number }>("balance");
/** By day: another day has other products and sites. */
const wishesOf = signal<ReadonlyMap<string, readonly Wish[]>>(new Map());

const wishes = {
  get value(): readonly Wish[] {
    return wishesOf.value.get(opened.value!.id) ?? [];
  },
  set value(list: readonly Wish[]) {
    wishesOf.value = new Map([...wishesOf.value, [opened.value!.id, list]]);
  },
};

/** The share that a site came out with when it is outside the wished limits: the timetable is searched, and may not follow. */
function missedShare({ sites }: Balance, wish: Wish): number | undefined {
  if (wish.kind !== "share") return undefined;
  const share = sites.find(({ site }) => site === wish.site)?.sharePercent ?? 0;
  return share < wish.leastPercent - 0.05 || share > wish.mostPercent + 0.05 ? share : undefined;
}

/** What the planner wishes, and what each wish costs once it was balanced. */
function Wishes({ answer }: { answer: Balance | undefined }) {
  const isAdding = useSignal(false);
  const { documents } = opened.value!;
  const toldOf = (wish: Wish): Balance["wishes"][number] | undefined =>
    answer?.wishes.find((one) => JSON.stringify(one.wish) === JSON.stringify(wish));
  return (
    <>
      {wishes.value.length > 0 && (
        <ul class="wishes">
          {wishes.value.map((wish, i) => {
            const text = wishText(documents, wish);
            const told = toldOf(wish);
            const cost = told?.cost;
            const missed = answer && missedShare(answer, wish);
            return (
              <li key={`${i} ${text}`}>
                <span class="remedy-text">{text}</span>
                {missed !== undefined && <span class="tag alarm">comes out at {missed} %</span>}
                {told?.isKept === false && told.wish.kind === "bake-at" && <span class="tag alarm">not kept</span>}
                {told?.cannotBeKept && (
                  <span class="tag alarm">
                    {told.cannotBeKept === "together"
                      ? "cannot be kept with the others"
                      : `cannot be kept: ${told.atMostPercent} % at most`}
                  </span>
                )}
                {cost !== undefined && (
                  <span class={`tag ${cost > 0.005 ? "warn" : "good"}`}>
                    {cost > 0.005
                      ? `costs at least ${money(cost, documents.settings.currency)}`
                      : "costs nothing in the sum"}
                  </span>
                )}
                <button
                  type="button"
                  class="btn slim bare"
                  aria-label={`Take back: ${text}`}
                  onClick={() => {
                    wishes.value = wishes.value.filter((_, k) => k !== i);
                  }}
                >
                  ✕
                </button>
              </li>
            );
          })}
        </ul>
      )}
      {isAdding.value ? (
        <AskForm
          label="Wish for"
          kinds={wishings(documents)}
          onAdd={(wish) => {
            wishes.value = [...wishes.value, wish];
            isAdding.value = false;
          }}
          onLeave={() => {
            isAdding.value = false;
          }}
        />
      ) : (
        mayPlan.value && (
          <p>
            <button
              type="button"
              class="btn slim"
              onClick={() => {
                isAdding.value = true;
              }}
            >
              Add a wish
            </button>
          </p>
        )
      )}
    </>
  );
}

function propose(timetable: Balance["timetable"]): void {
  const { documents, record } = opened.value!;
  proposed.value = { withHappenings: false, from: record.versions, documents, timetable };
  showsProposal.value = true;
  spoken.value = "The balanced timetable is proposed. It is not in force until you accept it.";
  location.hash = "#/today";
}

/** How the balanced timetable does against the one in force. */
function Outcome({ answer, balanced, base }: { answer: Balance; balanced: Plan; base: Plan | undefined }) {
  const count = tally(balanced);
  const before = base && tally(base);
  const { currency } = balanced.day.settings;
  const wanting = balanced.timetable.orders.filter(({ state }) => state !== "on-time");
  const short = wanting.reduce((sum, { shortPieces }) => sum + shortPieces, 0);
  const learnt = [...new Set(answer.rounds.flatMap((round) => round.learnt))];
  return (
    <div class={`note ${count.onTime === count.orders ? "good" : "warn"}`}>
      {answer.shortWithoutWishes !== undefined && short > answer.shortWithoutWishes && (
        <p>
          <b>
            With these wishes {short} pieces are not made, without them {answer.shortWithoutWishes}.
          </b>
        </p>
      )}
      <b>
        {count.onTime} of {count.orders} orders on time, cost {money(balanced.timetable.cost.total, currency)}
      </b>
      {before && base && (
        <>
          {" "}
          (in force: {before.onTime} on time, {money(base.timetable.cost.total, currency)})
        </>
      )}
      . {answer.rounds.length === 1 ? "One timetable was" : `${answer.rounds.length} timetables were`} drawn up after
      the balance and the best is kept.
      {wanting.length > 0 && (
        <ul class="small">
          {wanting.map((order) => (
            <li key={order.line}>
              {order.line} is {order.shortPieces > 0 ? `${order.shortPieces} short` : `${order.lateMinutes} min late`}
              {order.why && `: ${order.why.text}`}
            </li>
          ))}
        </ul>
      )}
      {learnt.length > 0 && (
        <details class="small">
          <summary>What held lines back on the way</summary>
          <ul>
            {learnt.map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
        </details>
      )}
    </div>
  );
}

/** Who makes what at which site, what rides, how full each station is; and what wishes about it cost. */
export function BalancePage() {
  const seconds = useSignal(15);
  const showsForce = useSignal(false);
  const base = forcePlan.value;
  const { documents } = opened.value!;
  const answer = question.state?.answer;
  const balanced = useMemo(() => (answer ? readPlan(documents, answer.timetable) : undefined), [answer, documents]);
  const shown = showsForce.value || !balanced ? base : balanced;
  const books = useMemo(() => shown && account(shown.day, shown.timetable), [shown]);
  const before = useMemo(() => base && account(base.day, base.timetable), [base]);
  return (
    <div class="page balance">
      <header>
        <h1>Balance</h1>
        <p>Which site makes what, what rides, and how full each station is.</p>
      </header>
      <section class="card balance-card" aria-labelledby="wishes-title">
        <div class="side-title">
          <div>
            <h2 id="wishes-title">Wishes</h2>
            <p class="quiet small">
              Balancing shares the work out over all sites, hours and van runs, and draws up timetables after it. What a
              wish costs at least is the difference of the same sum with and without it. Nothing takes effect.
            </p>
          </div>
          <div class="move-do">
            <SecondsChoice
              label="Search for"
              seconds={seconds.value}
              of={[5, 15, 60, 300]}
              onSeconds={(value) => {
                seconds.value = value;
              }}
            />
            <button
              type="button"
              class="btn main"
              disabled={question.isRunning || !mayPlan.value}
              onClick={() => {
                showsForce.value = false;
                void question.ask({ wishes: wishes.value, seconds: seconds.value });
              }}
            >
              {answer ? "Balance again" : "Balance"}
            </button>
          </div>
        </div>
        <LookOnly does="balances" />
        <Wishes answer={answer} />
        <QuestionProgress question={question} name="Time of the balancing" />
        {answer && balanced && (
          <>
            {question.isOld && <p class="note warn small">The day was changed since it was balanced.</p>}
            {!question.isOld &&
              JSON.stringify(answer.wishes.map(({ wish }) => wish)) !== JSON.stringify(wishes.value) && (
                <p class="note warn small">Balanced before the last change of the wishes.</p>
              )}
            <Outcome answer={answer} balanced={balanced} base={base} />
            <div class="move-do">
              {base && (
                <button
                  type="button"
                  class="btn slim"
                  aria-pressed={showsForce.value}
                  onClick={() => {
                    showsForce.value = !showsForce.value;
                  }}
                >
                  Show what is in force
                </button>
              )}
              {mayPlan.value && base && !question.isOld && (
                <button type="button" class="btn slim" onClick={() => propose(answer.timetable)}>
                  Propose this timetable
                </button>
              )}
            </div>
          </>
        )}
      </section>
      {shown && books ? (
        <>
          <h2 class="balance-of">{shown === balanced ? "As balanced" : "As in force"}</h2>
          <SiteShares plan={shown} account={books} before={shown === balanced ? before : undefined} />
          <MakesTable plan={shown} account={books} />
          <RidesTable plan={shown} account={books} />
          <FullnessStrip plan={shown} name={shown === balanced ? "As balanced" : "As in force"} />
        </>
      ) : (
        <p class="note">
          There is no timetable yet. Balance the sites here, or <a href="#/today">draw the day up under Today</a>.
        </p>
      )}
    </div>
  );
}
