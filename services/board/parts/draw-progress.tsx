import { running } from "../data/drawing.js";
import { money } from "../logic/summary.js";
import { bestSoFar, decidedPlan, opened, showsBest } from "../state.js";

const PHASES: Record<string, string> = {
  queued: "Waiting for its turn",
  sizing: "Sizing the batches",
  assigning: "Sharing the work among the sites",
  placing: "Making a first timetable",
  improving: "Improving",
  verifying: "Checking every rule",
};

/** How the search goes: time, cost so far, bound, gap, and the cost's way down as a line. */
export function DrawProgress() {
  const draw = running.value;
  if (!draw) return null;
  const last = draw.news[draw.news.length - 1];
  const currency = opened.value?.documents.settings.currency;
  const cost = [...draw.news].reverse().find((news) => news.cost !== undefined)?.cost;
  const bound = [...draw.news].reverse().find((news) => news.bound !== undefined)?.bound;
  const elapsed = (last?.elapsedMs ?? 0) / 1000;
  const costs = draw.news.filter((news) => news.cost !== undefined);
  const high = Math.log(Math.max(...costs.map((news) => news.cost!), 1));
  const low = Math.log(Math.max(Math.min(...costs.map((news) => news.cost!)), 0.01));
  const points = costs.map((news) => {
    const x = Math.min(1, news.elapsedMs / 1000 / draw.seconds) * 300;
    const y = 4 + (1 - (Math.log(Math.max(news.cost!, 0.01)) - low) / Math.max(high - low, 0.01)) * 34;
    return `${x.toFixed(1)} ${y.toFixed(1)}`;
  });
  const hasOther = decidedPlan.value !== undefined;
  return (
    <section class="card progress" aria-label="Search">
      <h2>{draw.isStopping ? "Stopping, the best is kept" : (PHASES[last?.phase ?? "queued"] ?? last?.phase)}</h2>
      <progress max={draw.seconds} value={Math.min(elapsed, draw.seconds)} aria-label="Time of the search">
        {elapsed} s
      </progress>
      <div class="progress-line">
        <span>
          {Math.min(elapsed, draw.seconds).toFixed(0)} of {draw.seconds} s
        </span>
        {cost !== undefined && <b>cost {money(cost, currency)}</b>}
        {bound !== undefined && cost !== undefined && cost > 0 && (
          <span>
            least possible {money(bound, currency)}, gap {((100 * (cost - bound)) / cost).toFixed(0)} %
          </span>
        )}
        {last?.iterations ? <span class="quiet">{last.iterations.toLocaleString("en-GB")} tries</span> : null}
      </div>
      {bestSoFar.value && (
        <div class="move-do">
          <p class="small" role="status">
            {draw.shown === 1 ? "The first timetable is shown." : `Better timetable ${draw.shown} is shown.`} None is in
            force yet.
          </p>
          {hasOther && (
            <button
              type="button"
              class="btn slim"
              aria-pressed={!showsBest.value}
              onClick={() => {
                showsBest.value = !showsBest.value;
              }}
            >
              As it is now
            </button>
          )}
        </div>
      )}
      {points.length > 1 && high - low > 0.01 && (
        <svg
          class="descent"
          viewBox="0 0 300 42"
          preserveAspectRatio="none"
          role="img"
          aria-label="Cost over time, falling"
        >
          <path d={`M${points.join("L")}`} vector-effect="non-scaling-stroke" />
        </svg>
      )}
    </section>
  );
}
