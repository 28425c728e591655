import { duration } from "../logic/clock.js";
import type { Verdict } from "../logic/hand-move.js";
import { DOES, type Plan, whatOf } from "../logic/plan.js";
import { plainBreach, RULE_NAMES } from "../logic/rules.js";

const MOST = 4;

/** What the rules say to a move, in words. */
export function VerdictNote({ plan, verdict, site }: { plan: Plan; verdict: Verdict; site: string }) {
  const along = verdict.drawnAlong.map((id) => plan.byId.get(id)).filter((task) => task !== undefined);
  const shown = verdict.objections.slice(0, MOST);
  const more = verdict.objections.length - shown.length;
  return (
    <div class={`note ${verdict.is === "allowed" ? "good" : verdict.is === "pushes" ? "warn" : "alarm"}`} role="status">
      <b>
        {verdict.is === "allowed" && "Allowed."}
        {verdict.is === "pushes" &&
          `Possible if ${verdict.inTheWay.length === 1 ? "one other gives" : `${verdict.inTheWay.length} others give`} way.`}
        {verdict.is === "refused" && "Not allowed."}
      </b>
      {shown.length > 0 && (
        <ul class="objections">
          {shown.map((objection) => (
            <li key={objection.message}>
              <span class="tag">
                {objection.rule === "form" ? "" : `${objection.rule} `}
                {RULE_NAMES[objection.rule]}
              </span>{" "}
              {plainBreach(plan, objection.message, site)}
              {objection.times > 1 && <span class="quiet"> and {objection.times - 1} more like it</span>}
            </li>
          ))}
          {more > 0 && <li class="quiet">and {more} more</li>}
        </ul>
      )}
      {along.length > 0 && verdict.is !== "refused" && (
        <p class="small">
          Drawn along:{" "}
          {along
            .map((task) => `${DOES[task.task.does].toLowerCase()}${task.load ? "" : ` of ${whatOf(plan, task)}`}`)
            .join(", ")}
          .
        </p>
      )}
      {verdict.late.map(({ line, minutes }) => (
        <p key={line} class="small">
          {line} would be {duration(minutes * 60_000)} late.
        </p>
      ))}
    </div>
  );
}
