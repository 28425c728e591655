import type { OrderChange } from "../../schemas/index.js";

/** What a task can wait for. */
type WaitsFor = OrderChange["because"][number]["waitsFor"];

/** What a task waits for, in words: in a list where "waits for" stands before it, and by itself. The board imports this file too: it has nothing but words. */
export const WAITS: Readonly<Record<WaitsFor, { readonly listed: string; readonly alone: string }>> = {
  route: { listed: "its own step before it", alone: "waits for the step before it" },
  unit: { listed: "the unit", alone: "waits for its unit" },
  position: { listed: "a free position", alone: "waits for a free position" },
  setpoint: { listed: "the setpoint to change", alone: "waits for the setpoint to change" },
  crew: { listed: "people", alone: "waits for people" },
  outage: { listed: "the unit to be in service and hot again", alone: "waits until the unit is back and hot" },
  van: { listed: "the van to leave", alone: "waits for the van to leave" },
  instant: { listed: "the instant of the report", alone: "could not begin before now" },
  plan: { listed: "nothing: the plan puts it there", alone: "waits for nothing: the plan puts it there" },
};
