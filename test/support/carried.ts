import type { Changes, DayDocuments, Task, Timetable } from "../../schemas/index.js";
import { formatInstant } from "../../solver/calendar.js";
import { repair, verify } from "../../solver/index.js";
import { demoDay } from "../unit/board/plan-fixture.js";
import { loadLp } from "./lp.js";

/** A morning of the demo day on which half-baked pans and a tub are carried off what fails under them. */
export interface CarriedMorning {
  readonly day: DayDocuments;
  readonly before: Timetable;
  readonly after: Timetable;
  readonly changes: Changes;
  /** The bake cut short and what is left of it on another deck; the stay cut short and the one in other positions. */
  readonly bake: readonly [first: Task, rest: Task];
  readonly stay: readonly [first: Task, rest: Task];
}

const MINUTE = 60_000;
let made: Promise<CarriedMorning> | undefined;

const ofTubs = ({ places }: Task): boolean => places?.[0]?.item.includes("-tub-") ?? false;

function pairOf(
  { tasks }: Timetable,
  ending: string,
  isWanted: (rest: Task) => boolean = () => true,
): [Task, Task] | undefined {
  const rest = tasks.find((task) => task.id.endsWith(ending) && isWanted(task));
  const first = rest && tasks.find(({ id }) => `${id}${ending.replace("-bake", "")}` === rest.id);
  return rest && first ? [first, rest] : undefined;
}

async function make(): Promise<CarriedMorning> {
  const { day: plain, timetable: before } = await demoDay();
  const lp = await loadLp();
  const bakes = before.tasks.filter(
    ({ does, unit, start }) => does === "bake" && unit!.startsWith("weir-yard/") && start > "2026-11-27T02",
  );
  for (const bake of bakes) {
    const fails = Date.parse(bake.start) + 4 * MINUTE;
    const standing = before.tasks.find(
      (task) =>
        task.does === "retard" &&
        ofTubs(task) &&
        task.places![0]!.unit.startsWith("weir-yard/") &&
        Date.parse(task.start) < fails &&
        Date.parse(task.end) > fails + 60 * MINUTE,
    );
    if (!standing) continue;
    const from = formatInstant(fails / MINUTE, "UTC");
    const down = (unit: string) => ({ kind: "out-of-service" as const, unit, from });
    const day: DayDocuments = {
      ...plain,
      inForce: before,
      happenings: {
        format: "happenings/1",
        at: from,
        happenings: [down(bake.unit!), down(standing.places![0]!.unit)],
      },
    };
    const { timetable: after, changes } = repair(day, { iterations: 30, seed: 1, now: () => 0, lp });
    const [cut, carried] = [pairOf(after, "-bake-2"), pairOf(after, "-carried", ofTubs)];
    if (cut && carried && verify(day, after).length === 0)
      return { day, before, after, changes, bake: cut, stay: carried };
  }
  throw new Error("Nothing is carried on any morning.");
}

export function carriedMorning(): Promise<CarriedMorning> {
  made ??= make();
  return made;
}
