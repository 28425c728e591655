import { useSignal } from "@preact/signals";
import type { Remedy, RemedyReport } from "../../../schemas/index.js";
import { Question } from "../data/question.js";
import { addScenario, tryScenario } from "../data/scenarios.js";
import { mayPlan } from "../data/session.js";
import { money } from "../logic/summary.js";
import { isPrinting, opened, spoken } from "../state.js";
import { Choice, Field } from "./field.js";
import { QuestionProgress } from "./question-progress.js";
import { SecondsChoice } from "./seconds-choice.js";

const question = new Question<RemedyReport, { multiple: number; seconds: number }>("remedies");
const MULTIPLES = [1, 1.1, 1.2, 1.5, 2];
const MOST = 12;

function effectOf({ fits, morePiecesOnTime }: Remedy): { text: string; tone: string } {
  if (fits) return { text: "everything fits", tone: "good" };
  const pieces = `${Math.abs(morePiecesOnTime).toLocaleString("en-GB")} ${Math.abs(morePiecesOnTime) === 1 ? "piece" : "pieces"}`;
  if (morePiecesOnTime > 0) return { text: `${pieces} more on time`, tone: "warn" };
  return { text: morePiecesOnTime === 0 ? "no gain found" : `${pieces} fewer on time`, tone: "" };
}

/** One click: the remedy is a scenario beside the real day, and is being drawn up. */
function apply(report: RemedyReport, remedy: Remedy, seconds: number): void {
  const grown = report.multiple === 1 ? [] : [{ kind: "multiply-orders" as const, times: report.multiple }];
  const kept = addScenario(remedy.name, [...grown, ...remedy.changes]);
  spoken.value = `${kept.document.name} is a scenario now and is being drawn up.`;
  void tryScenario(kept, seconds);
  requestAnimationFrame(() => {
    const card = document.getElementById(`scenario-${kept.id}`);
    card?.scrollIntoView({ block: "nearest" });
    card?.focus({ preventScroll: true });
  });
}

function Tried({ report, seconds }: { report: RemedyReport; seconds: number }) {
  const { documents } = opened.value!;
  const { asItIs, tried, proposed } = report;
  const { trial } = asItIs;
  const most = isPrinting.value ? tried.length : MOST;
  const short = trial ? trial.pieces - trial.piecesOnTime : asItIs.atLeastShort;
  return (
    <>
      <p class={`note ${short === 0 ? "good" : asItIs.atLeastShort > 0 ? "alarm" : "warn"}`}>
        {short === 0 ? (
          <b>Everything fits as it is.</b>
        ) : (
          <>
            <b>
              As it is, {short.toLocaleString("en-GB")} {trial ? `of ${trial.pieces.toLocaleString("en-GB")} ` : ""}
              pieces would be short or late.
            </b>{" "}
            {asItIs.atLeastShort > 0
              ? `Whoever plans it: at least ${asItIs.atLeastShort.toLocaleString("en-GB")}.`
              : "That none can be spared is not proved; a longer search may find better."}
          </>
        )}
      </p>
      {tried.length === 0 && (
        <p class="small">
          {proposed === 0
            ? "Nothing is wanting, so there is nothing to mend."
            : `${proposed} changes were thought of, but there was no time to draw one up. Search for longer.`}
        </p>
      )}
      <ol class="remedies">
        {tried.slice(0, most).map((remedy) => {
          const effect = effectOf(remedy);
          return (
            <li key={remedy.text}>
              <span class="remedy-text">{remedy.text}</span>
              <span class={`tag ${effect.tone}`}>{effect.text}</span>
              <span class="remedy-cost quiet">
                {remedy.cost === 0 ? "no cost of its own" : money(remedy.cost, documents.settings.currency)}
              </span>
              <button
                type="button"
                class="btn slim"
                disabled={!mayPlan.value}
                onClick={() => apply(report, remedy, seconds)}
              >
                Try beside the day
              </button>
            </li>
          );
        })}
      </ol>
      {tried.length > 0 && (
        <p class="small quiet">
          {tried.length > most ? `${tried.length - most} less effective ones are not shown. ` : ""}
          Amounts are what the change itself costs by the prices in the settings (our own figures where none are given).
        </p>
      )}
    </>
  );
}

/** What would make the orders fit: changes that were really drawn up again, the most effective first. `seconds` is for the scenario made of one. */
export function RemediesCard({ seconds }: { seconds: number }) {
  const multiple = useSignal(1);
  const budget = useSignal(60);
  const report = question.state?.answer;
  return (
    <section class="card headroom" aria-labelledby="remedies-title">
      <div class="side-title">
        <div>
          <h2 id="remedies-title">What would make it fit</h2>
          <p class="quiet small">
            Changes that a planner can make, each drawn up again and checked, the most effective first.
          </p>
        </div>
        <div class="move-do">
          <Field label="Orders" isInline>
            <Choice
              class="entry"
              value={String(multiple.value)}
              options={MULTIPLES.map((one) => ({
                value: String(one),
                text: one === 1 ? "as they are" : `× ${one}`,
              }))}
              onValue={(value) => {
                multiple.value = Number(value);
              }}
            />
          </Field>
          <SecondsChoice
            label="search for"
            seconds={budget.value}
            of={[15, 60, 180, 600]}
            onSeconds={(value) => {
              budget.value = value;
            }}
          />
          <button
            type="button"
            class="btn"
            disabled={question.isRunning || !mayPlan.value}
            onClick={() => void question.ask({ multiple: multiple.value, seconds: budget.value })}
          >
            {report ? "Try remedies again" : "Try remedies"}
          </button>
        </div>
      </div>
      <QuestionProgress question={question} name="Time of the trials" />
      {report && question.isOld && <p class="note warn small">The day was changed since then.</p>}
      {report && <Tried report={report} seconds={seconds} />}
    </section>
  );
}
