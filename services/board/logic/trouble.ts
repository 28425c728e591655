import type { Happening } from "../../../schemas/index.js";
import { instantText, MINUTE, msOf } from "./clock.js";
import { type Plan, zoneOf } from "./plan.js";

/** What can go wrong with a task, as a station says it in two taps. */
export type Trouble =
  | { readonly is: "longer"; readonly minutes: number }
  | { readonly is: "late"; readonly minutes: number }
  | { readonly is: "lost"; readonly pieces: number }
  | { readonly is: "spoiled" }
  | { readonly is: "short"; readonly kg: number }
  | { readonly is: "out"; readonly minutes?: number };

/** The words that are sent; people read them too. */
export function troubleNote(trouble: Trouble): string {
  switch (trouble.is) {
    case "longer":
      return `takes ${trouble.minutes} min longer`;
    case "late":
      return `starts ${trouble.minutes} min late`;
    case "lost":
      return `${trouble.pieces} pieces lost`;
    case "spoiled":
      return "all of it spoiled";
    case "short":
      return `${trouble.kg} kg of dough short`;
    case "out":
      return trouble.minutes === undefined
        ? "its unit does not work"
        : `its unit does not work for ${trouble.minutes} min`;
  }
}

/** Those words read back; undefined for words of somebody else's. */
export function readTrouble(note: string): Trouble | undefined {
  const number = (pattern: RegExp): number | undefined => {
    const match = pattern.exec(note);
    return match ? Number(match[1]) : undefined;
  };
  const longer = number(/^takes (\d+) min longer$/);
  if (longer !== undefined) return { is: "longer", minutes: longer };
  const late = number(/^starts (\d+) min late$/);
  if (late !== undefined) return { is: "late", minutes: late };
  const lost = number(/^(\d+) pieces lost$/);
  if (lost !== undefined) return { is: "lost", pieces: lost };
  if (note === "all of it spoiled") return { is: "spoiled" };
  const short = number(/^([\d.]+) kg of dough short$/);
  if (short !== undefined) return { is: "short", kg: short };
  const out = number(/^its unit does not work for (\d+) min$/);
  if (out !== undefined) return { is: "out", minutes: out };
  return note === "its unit does not work" ? { is: "out" } : undefined;
}

export interface Marked {
  readonly task: string;
  readonly what: "started" | "finished" | "trouble";
  readonly at: string;
  readonly note?: string;
}

/** A mark as a happening that a repair understands; undefined when it says nothing that a repair could use. */
export function happeningOf(plan: Plan, mark: Marked): Happening | undefined {
  const task = plan.byId.get(mark.task);
  if (!task) return undefined;
  const zone = zoneOf(plan, task.site);
  const at = (ms: number): string => instantText(zone, Math.floor(ms / MINUTE) * MINUTE);
  const ms = msOf(mark.at);
  // The happenings of a repair grow with the schemas; the server checks what is sent.
  const made = (happening: object): Happening => happening as Happening;
  if (mark.what !== "trouble") return made({ kind: mark.what, task: mark.task, at: at(ms) });
  const trouble = readTrouble(mark.note ?? "");
  switch (trouble?.is) {
    case "longer":
      return made({ kind: "running", task: mark.task, until: at(Math.max(ms, task.toMs) + trouble.minutes * MINUTE) });
    case "late":
      return made({
        kind: "not-started",
        task: mark.task,
        notBefore: at(Math.max(ms, task.fromMs) + trouble.minutes * MINUTE),
      });
    case "lost":
      return task.load ? made({ kind: "pieces-lost", load: task.load.id, pieces: trouble.pieces }) : undefined;
    case "spoiled":
      return task.load
        ? made({ kind: "spoiled", load: task.load.id })
        : task.batch
          ? made({ kind: "spoiled", batch: task.batch.id })
          : undefined;
    case "short":
      return task.batch ? made({ kind: "short-batch", batch: task.batch.id, missingG: trouble.kg * 1000 }) : undefined;
    case "out": {
      const unit = task.task.unit ?? task.task.places?.[0]?.unit;
      if (!unit) return undefined;
      return made({
        kind: "out-of-service",
        unit,
        from: at(ms),
        ...(trouble.minutes === undefined ? {} : { to: at(ms + trouble.minutes * MINUTE) }),
      });
    }
    default:
      return undefined;
  }
}
