import type { CrewGroup, Site, Task, Weekday } from "../../schemas/index.js";
import { type Absence, absencesOf, type MinuteSpan, weeklySpans } from "../calendar.js";
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
  readonly isOvertime: boolean;
  /** Away, at work, or on a break. */
  readonly busy: { from: number; to: number }[];
}

/** The people of a shift on one day. */
interface Turn extends MinuteSpan {
  readonly shift: CrewGroup["shifts"][number];
  readonly people: readonly Person[];
}

/** The people of a group with their shifts; those of overtime come last. */
function peopleOf(group: CrewGroup, site: Site, window: MinuteSpan, absences: readonly Absence[]): Person[] {
  const people: Person[] = [];
  const turns: Turn[] = [];
  const shifts = [...group.shifts].sort(
    (a, b) => Number(a.overtimeCostPerHour !== undefined) - Number(b.overtimeCostPerHour !== undefined),
  );
  for (const shift of shifts) {
    for (const span of weeklySpans(shift, site.timeZone, window)) {
      const first = people.length;
      const isOvertime = shift.overtimeCostPerHour !== undefined;
      for (let head = 0; head < shift.heads; head++)
        people.push({ number: people.length + 1, from: span.fromMinute, to: span.toMinute, isOvertime, busy: [] });
      turns.push({ ...span, shift, people: people.slice(first) });
    }
  }
  for (const absence of absences) takeAway(people, absence);
  for (const turn of turns) giveBreaks(turn, site, window);
  return people;
}

/** D7: regular people are missing first, then those of overtime. Nobody says who: those named last, and the same for as long as they can be. */
function takeAway(people: readonly Person[], { fromMinute, toMinute, heads }: Absence): void {
  const cuts = new Set([fromMinute, toMinute]);
  for (const { from, to } of people)
    for (const minute of [from, to]) if (minute > fromMinute && minute < toMinute) cuts.add(minute);
  const minutes = [...cuts].sort((a, b) => a - b);
  let away: readonly Person[] = [];
  for (let i = 1; i < minutes.length; i++) {
    const from = minutes[i - 1]!;
    const to = minutes[i]!;
    const there = people.filter((person) => isFree(person, from, to));
    there.sort(
      (a, b) =>
        Number(a.isOvertime) - Number(b.isOvertime) ||
        Number(away.includes(b)) - Number(away.includes(a)) ||
        b.number - a.number,
    );
    away = there.slice(0, heads);
    for (const person of away) person.busy.push({ from, to });
  }
}

/** Breaks go round in turn among those who are there. */
function giveBreaks({ shift, people, fromMinute, toMinute }: Turn, site: Site, window: MinuteSpan): void {
  let next = 0;
  for (const pause of shift.breaks ?? []) {
    const spans = weeklySpans({ days: EVERY_DAY, from: pause.from, to: pause.to }, site.timeZone, window).filter(
      (span) => span.fromMinute >= fromMinute && span.toMinute <= toMinute,
    );
    let owed = Math.min(shift.heads, pause.heads ?? shift.heads);
    for (let tried = 0; tried < people.length && owed > 0; tried++) {
      const person = people[next++ % people.length]!;
      if (!spans.every((span) => isFree(person, span.fromMinute, span.toMinute))) continue;
      for (const span of spans) person.busy.push({ from: span.fromMinute, to: span.toMinute });
      owed--;
    }
  }
}

const EVERY_DAY: readonly Weekday[] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

function isFree(person: Person, from: number, to: number): boolean {
  return (
    person.from <= from && to <= person.to && person.busy.every((stretch) => stretch.to <= from || stretch.from >= to)
  );
}

/**
 * Who of a group does which task: in order of start, whoever is there, free, and had the load last, else who has worked least. The timetable only
 * counts heads; a task for which this finds nobody in particular (who went missing is helped out, D22) has no people and is anybody's.
 */
export function stintsOf(book: Book, site: Site, group: CrewGroup): Stint[] {
  const window = {
    fromMinute: book.minute(book.timetable.window.from),
    toMinute: book.minute(book.timetable.window.to),
  };
  const people = peopleOf(group, site, window, absencesOf(book.day.happenings, site, group.id));
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
