import { expect, it } from "vitest";
import type { Task, Timetable } from "../../../schemas/index.js";
import { planGraph } from "../../../solver/replay/graph.js";
import { carriedMorning } from "../../support/carried.js";

it("tubs that are carried into each other's positions at one instant do not wait for each other", {
  timeout: 120_000,
}, async () => {
  const { day, after, stay } = await carriedMorning();
  const [first, rest] = stay;
  const other = after.tasks.find(
    ({ id, does, places, start, end }) =>
      does === "retard" &&
      id !== first.id &&
      places?.length === rest.places!.length &&
      Date.parse(start) < Date.parse(rest.start) &&
      Date.parse(end) > Date.parse(rest.start),
  )!;
  const into = (task: Task, { places }: Task): NonNullable<Task["places"]> =>
    task.places!.map((place, i) => ({ ...places![i]!, item: place.item }));
  const tasks = after.tasks.flatMap((task): Task[] => {
    if (task.id === rest.id) return [{ ...task, places: into(task, other) }];
    if (task.id !== other.id) return [task];
    const moved = { ...task, id: `${task.id}-carried`, start: rest.start, places: into(task, first) };
    return [{ ...task, end: rest.start }, moved];
  });
  tasks.sort((a, b) => Date.parse(a.start) - Date.parse(b.start));
  const swapped: Timetable = { ...after, tasks };
  const { nodes, arcs } = planGraph(day, swapped);
  expect(nodes.length).toBe(tasks.length);
  for (const { from, to } of arcs) expect(from).toBeLessThan(to);
});
