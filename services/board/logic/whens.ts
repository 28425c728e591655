import { resolveWhen } from "../../../solver/calendar.js";
import { MINUTE } from "./clock.js";

/** A document's date and time as an instant; undefined when it is skipped, comes twice or is malformed. */
export function whenMs(when: string, zone: string): number | undefined {
  const resolved = resolveWhen(when, zone);
  return "minute" in resolved ? resolved.minute * MINUTE : undefined;
}
