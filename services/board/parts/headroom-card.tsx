import { useSignal } from "@preact/signals";
import { scaleLinear } from "d3-scale";
import type { Timetable } from "../../../schemas/index.js";
import { runWith } from "../data/jobs.js";
import { BoardError } from "../data/types.js";
import { applyEdits } from "../logic/scenario.js";
import { opened } from "../state.js";

interface Point {
  readonly multiple: number;
  readonly share: number;
}

const MULTIPLES = [0.8, 1, 1.2, 1.4, 1.6, 1.8, 2];
const WIDTH = 640;
const HEIGHT = 210;
const PAD = { left: 46, right: 14, top: 12, bottom: 34 };

/** Share of orders on time against the multiple of today's orders. Each point is a timetable that was drawn up. */
export function HeadroomCard({ seconds }: { seconds: number }) {
  const points = useSignal<readonly Point[]>([]);
  const isRunning = useSignal(false);
  const trouble = useSignal<BoardError | undefined>(undefined);
  const measure = async (): Promise<void> => {
    const day = opened.value;
    if (!day) return;
    isRunning.value = true;
    trouble.value = undefined;
    points.value = [];
    try {
      for (const multiple of MULTIPLES) {
        const documents = applyEdits(day.documents, [{ kind: "orders", factor: multiple }]);
        const job = await runWith<{ timetable: Timetable }>("draw", documents, { seconds });
        const { timetable } = await job.done;
        const onTime = timetable.orders.filter((order) => order.state === "on-time").length;
        points.value = [...points.value, { multiple, share: onTime / Math.max(1, timetable.orders.length) }];
      }
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
    } finally {
      isRunning.value = false;
    }
  };
  const x = scaleLinear([0.8, 2], [PAD.left, WIDTH - PAD.right]);
  const y = scaleLinear([0, 1], [HEIGHT - PAD.bottom, PAD.top]);
  const all = points.value;
  const line = all.map((point) => `${x(point.multiple).toFixed(1)} ${y(point.share).toFixed(1)}`);
  return (
    <section class="card headroom">
      <div class="side-title">
        <div>
          <h2>How much more fits</h2>
          <p class="quiet small">
            Share of orders on time as all orders grow. Each point is a timetable searched for {seconds} s: a longer
            search can only raise it.
          </p>
        </div>
        <button type="button" class="btn" disabled={isRunning.value} onClick={() => void measure()}>
          {isRunning.value
            ? `Drawing up ${all.length + 1} of ${MULTIPLES.length}…`
            : all.length > 0
              ? "Measure again"
              : "Measure"}
        </button>
      </div>
      {trouble.value && <p class="note alarm">{trouble.value.message}</p>}
      {all.length > 0 && (
        <svg
          viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
          role="img"
          aria-label={`Orders on time: ${all.map((point) => `${Math.round(point.share * 100)} % at ${point.multiple} times`).join(", ")}`}
        >
          {y.ticks(5).map((tick) => (
            <g key={tick}>
              <path class="plot-grid" d={`M${PAD.left} ${y(tick)}H${WIDTH - PAD.right}`} />
              <text class="plot-text end" x={PAD.left - 8} y={y(tick) + 4}>
                {Math.round(tick * 100)} %
              </text>
            </g>
          ))}
          {MULTIPLES.map((tick) => (
            <text key={tick} class="plot-text middle" x={x(tick)} y={HEIGHT - 14}>
              × {tick}
            </text>
          ))}
          {line.length > 1 && <path class="plot-line" d={`M${line.join("L")}`} />}
          {all.map((point) => (
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
      )}
    </section>
  );
}
