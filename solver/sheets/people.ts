import type { CrewGroup, Site, Task } from "../../schemas/index.js";
import { weeklySpans } from "../calendar.js";
import type { Book } from "./book.js";

/** One person's stretch of work, by number within the group. */
export interface Stint {
  readonly task: Task;
  /** Minutes since the epoch. */
  readonly from: number;
  readonly to: number;
  /** 1, 2, ...; more than one for a task of several heads. Empty when nobody in particular could be named. */
  readonly people: readonly number[];
}

interface Person {
  readonly number: number;
  readonly from: number;
  readonly to: number;
  /** Busy until, and the breaks still owed. */
  readonly busy: { from: number; to: number }[];
}

/** The people of a group with their shifts; those of overtime come last. */
function peopleOf(group: CrewGroup, site: Site, window: { fromMinute: number; toMinute: number }): Person[] {
  const people: Person[] = [];
  const shifts = [...group.shifts].sort(
    (a, b) => Number(a.overtimeCostPerHour !== undefined) - Number(b.overtimeCostPerHour !== undefined),
  );
  for (const shift of shifts) {
    for (const span of weeklySpans(shift, site.timeZone, window)) {
      const first = people.length;
      for (let head = 0; head < shift.heads; head++)
        people.push({ number: people.length + 1, from: span.fromMinute, to: span.toMinute, busy: [] });
      let next = first;
      for (const pause of shift.breaks ?? []) {
        const days = { days: shift.days, from: pause.from, to: pause.to };
        const all = weeklySpans(
          { ...days, days: ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] },
          site.timeZone,
          window,
        );
        const spans = all.filter(
          ({ fromMinute, toMinute }) => fromMinute >= span.fromMinute && toMinute <= span.toMinute,
        );
        for (let head = 0; head < Math.min(shift.heads, pause.heads ?? shift.heads); head++) {
          const person = people[first + ((next - first) % shift.heads)]!;
          next++;
          for (const { fromMinute, toMinute } of spans) person.busy.push({ from: fromMinute, to: toMinute });
        }
      }
    }
  }
  return people;
}

function isFree(person: Person, from: number, to: number): boolean {
  return (
    person.from <= from && to <= person.to && person.busy.every((stretch) => stretch.to <= from || stretch.from >= to)
  );
}

/**
 * Who of a group does which task: in order of start, whoever is free and had the load last, else who has worked least. Breaks go round in turn. The
 * timetable only counts heads; a task for which this finds nobody in particular has no people and is anybody's.
 */
export function stintsOf(book: Book, site: Site, group: CrewGroup): Stint[] {
  const window = {
    fromMinute: book.minute(book.timetable.window.from),
    toMinute: book.minute(book.timetable.window.to),
  };
  const people = peopleOf(group, site, window);
  const lastLoad = new Map<number, string>();
  const worked = new Map<number, number>();
  return book
    .tasks((task) => task.site === site.id && task.crew?.group === group.id)
    .map((task) => {
      const crew = task.crew!;
      const from = book.minute(task.start);
      const to = crew.minutes === undefined ? book.minute(task.end) : from + crew.minutes;
      const free = people.filter((person) => isFree(person, from, to));
      free.sort(
        (a, b) =>
          Number(lastLoad.get(b.number) === task.load) - Number(lastLoad.get(a.number) === task.load) ||
          (worked.get(a.number) ?? 0) - (worked.get(b.number) ?? 0) ||
          a.number - b.number,
      );
      const chosen = free.length >= crew.heads ? free.slice(0, crew.heads) : [];
      for (const person of chosen) {
        person.busy.push({ from, to });
        worked.set(person.number, (worked.get(person.number) ?? 0) + to - from);
        if (task.load !== undefined) lastLoad.set(person.number, task.load);
      }
      return { task, from, to, people: chosen.map(({ number }) => number).sort((a, b) => a - b) };
    });
}
