import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { askNow } from "../data/jobs.js";
import { BoardError } from "../data/types.js";
import { DOES, type Plan, whatOf } from "../logic/plan.js";
import { forcePlan, isPrinting, opened, proposed } from "../state.js";
import { pick } from "../timetable/keys.js";

/** The part of the server's answer that is shown. */
interface Played {
  readonly runs: number;
  readonly rule: string;
  readonly allOnTime: { readonly share: number; readonly low: number; readonly high: number };
  readonly orders: readonly {
    readonly line: string;
    readonly onTime: number;
    readonly low: number;
    readonly high: number;
    readonly bufferMinutes: number;
  }[];
  readonly causes: readonly { readonly task: string; readonly runs: number; readonly overrunMinutes: number }[];
}

const percent = (share: number): string => `${Math.round(share * 100)} %`;
const UNSURE = 0.95;
const MOST = 6;

function Unsure({ plan, played }: { plan: Plan; played: Played }) {
  const unsure = played.orders.filter((order) => order.onTime < UNSURE).sort((a, b) => a.onTime - b.onTime);
  if (unsure.length === 0)
    return <p class="note good small">Every order is on time in at least {percent(UNSURE)} of the runs.</p>;
  return (
    <table class="costs">
      <thead class="unseen">
        <tr>
          <th scope="col">Order</th>
          <th scope="col">On time</th>
        </tr>
      </thead>
      <tbody>
        {unsure.slice(0, isPrinting.value ? unsure.length : MOST).map((order) => {
          const line = plan.lines.get(order.line);
          return (
            <tr key={order.line}>
              <td>
                {line?.pieces} {plan.products.get(line?.product ?? "")?.name}{" "}
                <span class="quiet small">{plan.sites.get(line?.site ?? "")?.name}</span>
                {order.bufferMinutes > 0 && (
                  <span class="quiet small"> {order.bufferMinutes} min earlier would do</span>
                )}
              </td>
              <td title={`${percent(order.low)} to ${percent(order.high)}`}>{percent(order.onTime)}</td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

/** How sure the timetable in force is when work takes longer or shorter than planned. */
export function SurenessCard() {
  const played = useSignal<Played | undefined>(undefined);
  const trouble = useSignal("");
  const isAsking = useSignal(false);
  const plan = forcePlan.value;
  useEffect(() => {
    played.value = undefined;
    trouble.value = "";
  }, [plan?.timetable]);
  const day = opened.value;
  if (!plan || !day || proposed.value) return null;
  const ask = async (): Promise<void> => {
    isAsking.value = true;
    trouble.value = "";
    try {
      played.value = await askNow<Played>(day.id, "replay", {});
    } catch (error) {
      const known = error as BoardError;
      trouble.value =
        known instanceof BoardError && known.isMissing ? "This server cannot play a timetable yet." : known.message;
    } finally {
      isAsking.value = false;
    }
  };
  const result = played.value;
  return (
    <section class="card">
      <div class="side-title">
        <h2>How sure</h2>
        <button type="button" class="btn slim" disabled={isAsking.value} onClick={() => void ask()}>
          {isAsking.value ? "Playing…" : result ? "Play again" : "Play it"}
        </button>
      </div>
      {!result && !trouble.value && (
        <p class="quiet small">Plays the day many times with work that takes longer or shorter than planned.</p>
      )}
      {trouble.value && <p class="note warn small">{trouble.value}</p>}
      {result && (
        <>
          <p>
            <b>All on time in {percent(result.allOnTime.share)}</b>{" "}
            <span class="quiet small">
              of {result.runs.toLocaleString("en-GB")} runs ({percent(result.allOnTime.low)} to{" "}
              {percent(result.allOnTime.high)})
            </span>
          </p>
          <Unsure plan={plan} played={result} />
          {result.causes.length > 0 && (
            <>
              <h3>What most often makes late</h3>
              <ul class="small">
                {result.causes.slice(0, 4).map((cause) => {
                  const task = plan.byId.get(cause.task);
                  return (
                    <li key={cause.task}>
                      <button type="button" class="linkish" onClick={() => pick(cause.task)}>
                        {task ? `${DOES[task.task.does]} of ${whatOf(plan, task)}` : cause.task}
                      </button>{" "}
                      <span class="quiet">by up to {cause.overrunMinutes} min</span>
                    </li>
                  );
                })}
              </ul>
            </>
          )}
        </>
      )}
    </section>
  );
}
