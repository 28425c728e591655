import type { Changes, OrderRemedy, OrderChange as ToldOrder } from "../../../schemas/index.js";
import { WAITS } from "../../text/waits.js";
import { addScenario } from "../data/scenarios.js";
import type { OrderChange } from "../logic/changes.js";
import { hhmm } from "../logic/clock.js";
import { DOES, type Plan, whereOf, zoneOf } from "../logic/plan.js";
import { money } from "../logic/summary.js";
import { spoken } from "../state.js";
import { pick } from "../timetable/keys.js";

type Link = ToldOrder["because"][number];

/** What decided when an order is ready, latest first. */
function Chain({ plan, links }: { plan: Plan; links: readonly Link[] }) {
  return (
    <details class="small">
      <summary>What it waits for</summary>
      <ol class="why">
        {links.map((link) => {
          const planned = plan.byId.get(link.task);
          if (!planned) return null;
          return (
            <li key={link.task}>
              <button type="button" class="linkish" onClick={() => pick(link.task)}>
                {DOES[planned.task.does]} {hhmm(zoneOf(plan, planned.site), planned.fromMs)}
              </button>
              , {whereOf(plan, planned.task)}: <span class="quiet">{WAITS[link.waitsFor].alone}</span>
            </li>
          );
        })}
      </ol>
    </details>
  );
}

function Remedy({ plan, remedy }: { plan: Plan; remedy: OrderRemedy }) {
  const { text, cost, mends, lateMinutes, shortPieces, changes } = remedy;
  const rest = [lateMinutes > 0 ? `${lateMinutes} min late` : "", shortPieces > 0 ? `${shortPieces} short` : ""];
  const price = cost === 0 ? "no cost of its own" : money(cost, plan.day.settings.currency);
  return (
    <p class="small">
      <b>What would help:</b> {text} ({price}).{" "}
      {mends
        ? "Repaired again with it, the order is on time and in full. "
        : `Repaired again with it: ${rest.filter((part) => part !== "").join(", ")}. `}
      <button
        type="button"
        class="btn slim"
        onClick={() => {
          const { document } = addScenario(text, [...changes]);
          spoken.value = `${document.name} is a scenario now, on the page What if.`;
        }}
      >
        Keep as a scenario
      </button>
    </p>
  );
}

/** Orders that fare otherwise than before: what customers are told, why, and what would help. `told` is what the server found. */
export function OrderChanges(props: { plan: Plan; orders: readonly OrderChange[]; told: Changes | undefined }) {
  const { plan, orders, told } = props;
  if (orders.length === 0) return <p class="note good small">No order fares otherwise than before.</p>;
  const known = new Map(told?.orders.map((order) => [order.line, order]));
  return (
    <>
      <h3>Whom to tell</h3>
      <ul class="small tell">
        {orders.map((order) => {
          const line = plan.lines.get(order.line);
          const found = known.get(order.line);
          return (
            <li key={order.line}>
              <b>
                {line?.pieces} {plan.products.get(line?.product ?? "")?.name}
              </b>{" "}
              for {line?.customer ?? plan.sites.get(line?.site ?? "")?.name}: {order.before} →{" "}
              <span class={`tag ${order.isWorse ? "alarm" : "good"}`}>{order.after}</span>
              {order.isWorse && found?.why && <p class="small">{found.why.text}</p>}
              {order.isWorse && found?.remedy && <Remedy plan={plan} remedy={found.remedy} />}
              {order.isWorse && found && found.because.length > 0 && <Chain plan={plan} links={found.because} />}
            </li>
          );
        })}
      </ul>
      {told?.remediesTried !== undefined && (
        <p class="small quiet">
          {told.remediesTried} {told.remediesTried === 1 ? "change was" : "changes were"} tried to help late and short
          orders.
        </p>
      )}
    </>
  );
}
