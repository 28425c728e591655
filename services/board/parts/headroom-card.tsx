import { useSignal } from "@preact/signals";
import { scaleLinear } from "d3-scale";
import type { Headroom } from "../../../schemas/index.js";
import { Question } from "../data/question.js";
import { mayPlan } from "../data/session.js";
import { QuestionProgress } from "./question-progress.js";
import { SecondsChoice } from "./seconds-choice.js";

interface Point {
  readonly multiple: number;
  readonly share: number;
}

const question = new Question<Headroom>("headroom");
const WIDTH = 640;
const HEIGHT = 210;
const PAD = { left: 46, right: 14, top: 12, bottom: 34 };

const VERDICTS: Readonly<Record<Headroom["verdict"], string>> = {
  fits: "The orders fit as they are: a verified timetable has every line in full and on time.",
  "does-not-fit": "The orders do not fit as they are: no timetable has every line in full and on time.",
  "not-decided": "Not decided: no timetable with every line in full and on time was found, and none is ruled out.",
};

function times(multiple: number): string {
  return `× ${Math.round(multiple * 100) / 100}`;
}

function Plot({ points, answer }: { points: readonly Point[]; answer: Headroom | undefined }) {
  const sorted = [...points].sort((a, b) => a.multiple - b.multiple);
  const low = Math.min(0.8, ...sorted.map((point) => point.multiple));
  const high = Math.max(2, ...sorted.map((point) => point.multiple));
  const x = scaleLinear([low, high], [PAD.left, WIDTH - PAD.right]);
  const y = scaleLinear([0, 1], [HEIGHT - PAD.bottom, PAD.top]);
  const line = sorted.map((point) => `${x(point.multiple).toFixed(1)} ${y(point.share).toFixed(1)}`);
  const never = answer?.isBounded && answer.certainlyNotAbove < high ? answer.certainlyNotAbove : undefined;
  const label = sorted.map((point) => `${Math.round(point.share * 100)} % at ${point.multiple} times`).join(", ");
  return (
    <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={`Orders on time: ${label}`}>
      {y.ticks(5).map((tick) => (
        <g key={tick}>
          <path class="plot-grid" d={`M${PAD.left} ${y(tick)}H${WIDTH - PAD.right}`} />
          <text class="plot-text end" x={PAD.left - 8} y={y(tick) + 4}>
            {Math.round(tick * 100)} %
          </text>
        </g>
      ))}
      {x.ticks(7).map((tick) => (
        <text key={tick} class="plot-text middle" x={x(tick)} y={HEIGHT - 14}>
          {times(tick)}
        </text>
      ))}
      {never !== undefined && (
        <rect
          class="plot-never"
          x={x(never)}
          y={PAD.top}
          width={WIDTH - PAD.right - x(never)}
          height={HEIGHT - PAD.top - PAD.bottom}
        >
          <title>Certainly does not fit</title>
        </rect>
      )}
      {line.length > 1 && <path class="plot-line" d={`M${line.join("L")}`} />}
      {sorted.map((point) => (
        <g key={point.multiple}>
          <circle class="plot-point" cx={x(point.multiple)} cy={y(point.share)} r={4.5} />
          <text
            class="plot-text middle strong"
            x={x(point.multiple)}
            y={y(point.share) + (point.share > 0.85 ? 20 : -10)}
          >
            {Math.round(point.share * 100)} %
          </text>
        </g>
      ))}
    </svg>
  );
}

/** How much of the demand fits, what gives out first, and the share of orders on time against the multiple. Every point is a verified timetable. */
export function HeadroomCard() {
  const budget = useSignal(60);
  const found = question.state?.answer;
  const points = (found?.trials ?? []).map((trial) => ({
    multiple: trial.multiple,
    share: trial.linesOnTime / Math.max(1, trial.lines),
  }));
  return (
    <section class="card headroom" aria-labelledby="headroom-title">
      <div class="side-title">
        <div>
          <h2 id="headroom-title">How much more fits</h2>
          <p class="quiet small">
            Share of orders on time as all orders grow. Each point is a timetable that was drawn up and checked: a
            longer search can only raise it.
          </p>
        </div>
        <div class="move-do">
          <SecondsChoice
            label="Search for"
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
            onClick={() => void question.ask({ seconds: budget.value })}
          >
            {found ? "Measure again" : "Measure"}
          </button>
        </div>
      </div>
      <QuestionProgress question={question} name="Time of the measuring" />
      {found && question.isOld && <p class="note warn small">The day was changed since then.</p>}
      {found && (
        <p class={`note ${found.verdict === "fits" ? "good" : found.verdict === "does-not-fit" ? "alarm" : "warn"}`}>
          <b>{VERDICTS[found.verdict]}</b>
          {found.fitsAt !== undefined && ` Fits at ${times(found.fitsAt)}.`}
          {found.isBounded && ` Certainly not above ${times(found.certainlyNotAbove)}.`}
        </p>
      )}
      {points.length > 0 && <Plot points={points} answer={found} />}
      {found && found.binding.length > 0 && (
        <>
          <h3>What gives out first</h3>
          <ul class="small">
            {found.binding.slice(0, 5).map((binding) => (
              <li key={binding.text}>{binding.text}</li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}
