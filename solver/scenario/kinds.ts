import type { DayChange, DayDocuments } from "../../schemas/index.js";
import type { ChangeKind } from "./change.js";
import { addLine } from "./changes/add-line.js";
import { anotherRun } from "./changes/another-run.js";
import { anotherUnit } from "./changes/another-unit.js";
import { bakeAt } from "./changes/bake-at.js";
import { crewSize } from "./changes/crew-size.js";
import { dropLines } from "./changes/drop-lines.js";
import { morePans } from "./changes/more-pans.js";
import { morePeople } from "./changes/more-people.js";
import { moreTubs } from "./changes/more-tubs.js";
import { moveDue } from "./changes/move-due.js";
import { multiplyOrders } from "./changes/multiply-orders.js";
import { onlyRoutes } from "./changes/only-routes.js";
import { otherPan } from "./changes/other-pan.js";
import { panFill } from "./changes/pan-fill.js";
import { rentFridge } from "./changes/rent-fridge.js";
import { shiftHours } from "./changes/shift-hours.js";
import { startEarlier } from "./changes/start-earlier.js";
import { tubFill } from "./changes/tub-fill.js";
import { unplanned } from "./changes/unplanned.js";

/** Every kind of change: a new one is a file, a line here, and a branch in the schema. */
const KINDS = [
  multiplyOrders,
  addLine,
  dropLines,
  moveDue,
  bakeAt,
  morePeople,
  crewSize,
  shiftHours,
  rentFridge,
  morePans,
  moreTubs,
  anotherUnit,
  panFill,
  otherPan,
  tubFill,
  onlyRoutes,
  startEarlier,
  anotherRun,
  unplanned,
] as const;

const BY_KIND = new Map<string, ChangeKind<DayChange>>(
  KINDS.map((kind) => [kind.kind, kind as unknown as ChangeKind<DayChange>]),
);

export const CHANGE_KINDS: readonly string[] = [...BY_KIND.keys()];

/** What a change is, in the trade's words. */
export function changeWords(day: DayDocuments, change: DayChange): string {
  return BY_KIND.get(change.kind)!.words(day, change);
}

/** The day with changes made to it, in order; throws CannotChange. Nothing of the day itself is edited. */
export function changed(day: DayDocuments, changes: readonly DayChange[]): DayDocuments {
  return changes.reduce((current, change) => BY_KIND.get(change.kind)!.apply(current, change), day);
}
