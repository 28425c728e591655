import type { Plan } from "../logic/plan.js";
import { money, tally } from "../logic/summary.js";

interface Figure {
  readonly name: string;
  readonly of: (plan: Plan) => number;
  readonly text: (value: number, plan: Plan) => string;
  readonly moreIsBetter: boolean;
}

const kwh = (plan: Plan): number =>
  plan.timetable.cost.parts.filter((part) => part.unit === "kWh").reduce((sum, part) => sum + part.quantity, 0);

const FIGURES: readonly Figure[] = [
  {
    name: "Orders on time",
    of: (p) => tally(p).onTime,
    text: (n, p) => `${n} of ${tally(p).orders}`,
    moreIsBetter: true,
  },
  {
    name: "Pieces not made",
    of: (p) => p.timetable.orders.reduce((sum, order) => sum + order.shortPieces, 0),
    text: (n) => n.toLocaleString("en-GB"),
    moreIsBetter: false,
  },
  { name: "Orders late", of: (p) => tally(p).late, text: (n) => `${n}`, moreIsBetter: false },
  {
    name: "Pieces made",
    of: (p) => p.timetable.loads.reduce((sum, load) => sum + load.pieces, 0),
    text: (n) => n.toLocaleString("en-GB"),
    moreIsBetter: true,
  },
  { name: "Energy", of: kwh, text: (n) => `${Math.round(n)} kWh`, moreIsBetter: false },
  {
    name: "Cost, all counted",
    of: (p) => p.timetable.cost.total,
    text: (n, p) => money(n, p.day.settings.currency),
    moreIsBetter: false,
  },
];

function amount(by: number): string {
  const size = Math.abs(by);
  const text = size >= 100 ? Math.round(size).toLocaleString("en-GB") : String(Math.round(size * 10) / 10);
  return `${by > 0 ? "+" : "−"}${text}`;
}

/** How a timetable does, and by how much better or worse than another one. */
export function DayFigures({ result, base }: { result: Plan; base?: Plan | undefined }) {
  return (
    <dl class="what-figures">
      {FIGURES.map((figure) => {
        const value = figure.of(result);
        const by = base ? value - figure.of(base) : 0;
        const isBetter = by > 0 === figure.moreIsBetter;
        return (
          <div key={figure.name}>
            <dt>{figure.name}</dt>
            <dd>
              {Math.abs(by) >= 0.5 && (
                <span class={`tag ${isBetter ? "good" : "alarm"}`}>
                  {amount(by)} <span class="unseen">{isBetter ? "better" : "worse"} than as it is</span>
                </span>
              )}
              <b>{figure.text(value, result)}</b>
            </dd>
          </div>
        );
      })}
    </dl>
  );
}
