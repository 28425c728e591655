import { COST_WORDS, money, quantityText } from "../logic/summary.js";
import { plan } from "../state.js";

export function CostCard() {
  const { timetable, day } = plan.value!;
  const parts = timetable.cost.parts.filter((part) => part.amount > 0);
  return (
    <section class="card">
      <h2>What it costs</h2>
      <table class="costs">
        <tbody>
          {parts.map((part) => (
            <tr key={part.for}>
              <td>
                {COST_WORDS[part.for]} <span class="quiet small">{quantityText(part)}</span>
              </td>
              <td>{money(part.amount, undefined)}</td>
            </tr>
          ))}
          <tr>
            <td>All</td>
            <td>{money(timetable.cost.total, day.settings.currency)}</td>
          </tr>
        </tbody>
      </table>
      <p class="quiet small">
        Late, short and early pieces are weighed as the day's settings say; the rest is money. Seed {timetable.seed},{" "}
        {timetable.iterations.toLocaleString("en-GB")} tries.
      </p>
    </section>
  );
}
