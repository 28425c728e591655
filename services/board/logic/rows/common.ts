import type { Site } from "../../../../schemas/index.js";
import type { Span } from "../clock.js";
import { packLanes, runs } from "../lanes.js";
import { staircase } from "../levels.js";
import { outagesOf } from "../outages.js";
import type { Plan, PlannedTask } from "../plan.js";
import type { Bar, Gauge, Row, Station } from "./types.js";

/** Where on a unit a task is: a block of neighbouring positions for each stretch of them. */
export function placedBars(task: PlannedTask, unit: string): Bar[] {
  const positions = (task.task.places ?? []).filter((place) => place.unit === unit).map((place) => place.position);
  return runs(positions).map(([first, last]) => ({
    task,
    fromMs: task.fromMs,
    toMs: task.toMs,
    lane: first - 1,
    lanes: last - first + 1,
  }));
}

export interface Common {
  readonly plan: Plan;
  readonly site: Site;
  readonly unfolded: ReadonlySet<string>;
  readonly byUnit: ReadonlyMap<string, readonly PlannedTask[]>;
}

export function base(common: Common, station: Station, id: string, name: string, note: string) {
  const unit = `${common.site.id}/${id}`;
  return {
    id: unit,
    unit,
    site: common.site.id,
    station,
    name,
    note,
    out: outagesOf(common.plan, unit),
    canUnfold: false,
    isUnfolded: false,
    lanesArePositions: false,
  };
}

export const plural = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`;

export function gaugeOf(
  own: readonly PlannedTask[],
  of: (task: PlannedTask) => number,
  room: number,
  span: Span,
  counts: string,
): Gauge {
  const levels = staircase(own.map((task) => ({ fromMs: task.fromMs, toMs: task.toMs, amount: of(task) })));
  return { levels, room: [{ ms: span.fromMs, used: room }], most: room, counts };
}

/** Mixers, benches and kettles: bars in as many lanes as are needed. */
export function worked(
  common: Common,
  station: Station,
  id: string,
  name: string,
  note: string,
  leastLanes: number,
): Row {
  const own = common.byUnit.get(`${common.site.id}/${id}`) ?? [];
  const heads = (task: PlannedTask): number => (station === "bench" ? (task.task.crew?.heads ?? leastLanes) : 1);
  const { lanes, count } = packLanes(own, heads);
  const bars = own.map(
    (task, i): Bar => ({ task, fromMs: task.fromMs, toMs: task.toMs, lane: lanes[i]!, lanes: heads(task) }),
  );
  return { ...base(common, station, id, name, note), bars, laneCount: Math.max(leastLanes, count) };
}
