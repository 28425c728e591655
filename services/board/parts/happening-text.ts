import type { Happening } from "../../../schemas/index.js";
import { dayTime } from "../logic/clock.js";
import { DOES, type Plan, unitName, whatOf, zoneOf } from "../logic/plan.js";
import { whenMs } from "../logic/whens.js";

/** One line for what happened or is wanted. */
export function happeningText(plan: Plan, happening: Happening): string {
  const loose = happening as unknown as Record<string, unknown> & { kind: string };
  const taskText = (): string => {
    const task = plan.byId.get(String(loose.task));
    return task ? `${DOES[task.task.does]} of ${whatOf(plan, task)}` : String(loose.task);
  };
  const timeText = (when: unknown, site: string): string => {
    const ms = typeof when === "string" ? whenMs(when, zoneOf(plan, site)) : undefined;
    return ms === undefined ? String(when) : dayTime(zoneOf(plan, site), ms);
  };
  const siteOf = (): string => plan.byId.get(String(loose.task))?.site ?? "";
  switch (loose.kind) {
    case "out-of-service": {
      const unit = String(loose.unit);
      const site = unit.split("/")[0]!;
      const to = loose.to === undefined ? "until further notice" : `to ${timeText(loose.to, site)}`;
      return `${unitName(plan, unit)} out of service from ${timeText(loose.from, site)} ${to}`;
    }
    case "hold": {
      const unit = loose.unit === undefined ? "" : ` on ${unitName(plan, String(loose.unit))}`;
      return `${taskText()} at ${timeText(loose.start, siteOf())}${unit}`;
    }
    case "lock":
      return `${taskText()} stays where it is`;
    case "absent":
      return `${loose.heads} absent from ${loose.crew}, ${timeText(loose.from, String(loose.site))} to ${timeText(loose.to, String(loose.site))}`;
    case "started":
      return `${taskText()} started ${timeText(loose.at, siteOf())}`;
    case "finished":
      return `${taskText()} finished ${timeText(loose.at, siteOf())}`;
    default:
      return `${loose.kind.replace(/-/g, " ")}${loose.unit ? `: ${unitName(plan, String(loose.unit))}` : ""}${loose.load ? `: ${loose.load}` : ""}${loose.task ? `: ${taskText()}` : ""}`;
  }
}
