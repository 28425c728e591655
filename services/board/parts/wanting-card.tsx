import { useSignal } from "@preact/signals";
import { dayTime, msOf } from "../logic/clock.js";
import { linesNotDrawn, linesTakenOut } from "../logic/orders.js";
import { zoneOf } from "../logic/plan.js";
import { wanting, wantText } from "../logic/summary.js";
import { isPrinting, plan } from "../state.js";
import { pick } from "../timetable/keys.js";
import { frameWay } from "../timetable/view.js";

const AT_FIRST = 8;

/** The orders that are late or short, the worst first, each with what held it back. */
export function WantingCard() {
  const all = useSignal(false);
  const current = plan.value!;
  const orders = wanting(current);
  const undrawn = linesNotDrawn(current).length;
  const taken = linesTakenOut(current).length;
  const notDrawn = (undrawn > 0 || taken > 0) && (
    <>
      {undrawn > 0 && (
        <p class="note warn" style={{ marginTop: "8px" }}>
          {undrawn === 1 ? "1 order line is" : `${undrawn} order lines are`} not in this timetable as ordered now.{" "}
          <a href="#/orders">See which under Orders</a>, and draw up again.
        </p>
      )}
      {taken > 0 && (
        <p class="note warn" style={{ marginTop: "8px" }}>
          {taken === 1 ? "1 order line that" : `${taken} order lines that`} nobody orders any more{" "}
          {taken === 1 ? "is" : "are"} still made in this timetable. Draw up again.
        </p>
      )}
    </>
  );
  if (orders.length === 0)
    return (
      <section class="card">
        <h2>Late or short</h2>
        {notDrawn || (
          <p class="note good" style={{ marginTop: "8px" }}>
            Nothing. Every order is ready in time and whole.
          </p>
        )}
      </section>
    );
  const shown = all.value || isPrinting.value ? orders : orders.slice(0, AT_FIRST);
  const show = (lineId: string): void => {
    const load = current.timetable.loads.find((candidate) => candidate.orders.some((share) => share.line === lineId));
    const last = current.byLoad.get(load?.id ?? "")?.at(-1);
    if (!load || !last) return;
    frameWay(load.id);
    pick(last.id);
  };
  return (
    <section class="card">
      <h2>Late or short: {orders.length}</h2>
      {notDrawn}
      <ul class="wants">
        {shown.map((order) => {
          const line = current.lines.get(order.line);
          const product = current.products.get(line?.product ?? "")?.name ?? line?.product;
          const site = current.sites.get(line?.site ?? "")?.name ?? line?.site;
          const zone = zoneOf(current, line?.site ?? "");
          return (
            <li key={order.line}>
              <button type="button" class="want" onClick={() => show(order.line)}>
                <b>
                  {line?.pieces} {product}
                </b>
                <span class="tag alarm">{wantText(order, line?.pieces ?? 0)}</span>
                <span class="small quiet">
                  {site}, due {dayTime(zone, msOf(order.due))}
                  {order.ready && order.lateMinutes > 0 ? `, ready ${dayTime(zone, msOf(order.ready))}` : ""}
                </span>
                {order.why && <span class="why">{order.why.text}</span>}
              </button>
            </li>
          );
        })}
      </ul>
      {orders.length > AT_FIRST && (
        <button
          type="button"
          class="btn slim bare"
          aria-expanded={all.value}
          onClick={() => {
            all.value = !all.value;
          }}
        >
          {all.value ? "Show fewer" : `Show all ${orders.length}`}
        </button>
      )}
    </section>
  );
}
