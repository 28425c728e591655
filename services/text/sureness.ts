import type { DayDocuments, Drift, Replay, Timetable } from "../../schemas/index.js";
import { linesAsTold } from "../../solver/index.js";
import { WARM_CAUTION, warmText } from "../../solver/repair/warm-words.js";
import { Names } from "./names.js";
import { table } from "./table.js";

const MOST_ROWS = 20;

function percent(share: number): string {
  return `${(100 * share).toFixed(1)} %`;
}

function lineNames(day: DayDocuments, names: Names): (id: string) => string {
  const lines = new Map(linesAsTold(day).map((line) => [line.id, line]));
  return (id) => {
    const line = lines.get(id);
    return line ? `${line.pieces} ${names.product(line.product)} for ${names.site(line.site)}` : id;
  };
}

/** How sure: on-time chances with their intervals, the least sure first; what most often makes orders late. */
export function replayText(day: DayDocuments, timetable: Timetable, replay: Replay): string {
  const names = new Names(day, timetable);
  const nameOf = lineNames(day, names);
  const { low, high, share } = replay.allOnTime;
  const lines = [
    `Played ${replay.runs} times (seed ${replay.seed}). Every order on time in ${percent(share)} of them (${percent(low)} to ${percent(high)}; ${replay.interval}).`,
  ];
  const unsure = replay.orders.filter((order) => order.onTime < 1).sort((a, b) => a.onTime - b.onTime);
  if (unsure.length > 0) {
    lines.push(
      "",
      "Least sure orders: on time, of them within every wait too, minutes earlier that nine runs in ten need",
    );
    lines.push(
      ...table(
        unsure
          .slice(0, MOST_ROWS)
          .map((order) => [
            `  ${order.line}`,
            nameOf(order.line),
            percent(order.onTime),
            `${percent(order.low)}-${percent(order.high)}`,
            percent(order.withinWaits),
            `${order.bufferMinutes} min`,
          ]),
        [2, 4, 5],
      ),
    );
    if (unsure.length > MOST_ROWS) lines.push(`  and ${unsure.length - MOST_ROWS} more that are not always on time`);
  }
  const sure = replay.orders.length - unsure.length;
  lines.push("", `${sure} of ${replay.orders.length} orders were on time in every run.`);
  const slack = replay.suggestedSlackMinutes ?? 0;
  if (slack > (day.settings.slackMinutes ?? 0))
    lines.push(
      `To be surer, draw the day up with --slack ${slack} (slackMinutes in settings.json): loads are then ready so many minutes sooner where that can be had.`,
    );
  if (replay.causes.length > 0) {
    lines.push("", "What most often makes an order late, and the minutes that would cover nine overruns of ten");
    lines.push(
      ...table(
        replay.causes.map(({ task, runs, overrunMinutes }) => [
          `  ${task}`,
          `in ${percent(runs / replay.runs)} of the runs`,
          `${overrunMinutes} min`,
        ]),
        [2],
      ),
    );
  }
  lines.push("", replay.rule);
  return lines.join("\n");
}

/** Whether the timetable still holds, and where it has become tight. */
export function driftText(day: DayDocuments, timetable: Timetable, drift: Drift): string {
  const names = new Names(day, timetable);
  const nameOf = lineNames(day, names);
  const first = day.network.sites[0]!.id;
  const head = `As things stand ${names.date(drift.at, first)} ${names.time(drift.at, first)}`;
  const lines = [
    drift.holds
      ? `${head}: the timetable in force still holds; no repair is needed.`
      : `${head}: a repair is worth it. ${drift.reasons.join(" ")}`,
  ];
  const shrunk = drift.orders
    .map((order) => ({ ...order, lost: order.slackMinutes - (order.slackNowMinutes ?? Number.NEGATIVE_INFINITY) }))
    .filter(({ lost }) => lost > 0)
    .sort((a, b) => (a.slackNowMinutes ?? -1e9) - (b.slackNowMinutes ?? -1e9));
  if (shrunk.length > 0) {
    lines.push("", "Orders with less slack than planned: planned, now");
    lines.push(
      ...table(
        shrunk
          .slice(0, MOST_ROWS)
          .map((order) => [
            `  ${order.line}`,
            nameOf(order.line),
            `${order.slackMinutes} min`,
            order.slackNowMinutes === undefined ? "misses its last van" : `${order.slackNowMinutes} min`,
          ]),
        [2, 3],
      ),
    );
  }
  if (drift.later.length > 0) {
    lines.push("", "Work that starts later than planned if nothing is changed");
    lines.push(
      ...table(
        drift.later.slice(0, MOST_ROWS).map(({ task, minutes }) => [`  ${task}`, `${minutes} min`]),
        [1],
      ),
    );
    if (drift.later.length > MOST_ROWS) lines.push(`  and ${drift.later.length - MOST_ROWS} more`);
  }
  if (drift.warm) {
    lines.push(
      "",
      "Not in the cold",
      ...drift.warm.map((one) => `  ${warmText(one, (at, site) => names.time(at, site))}`),
    );
    lines.push(`  ${WARM_CAUTION}`);
  }
  if (drift.brokenWaits.length > 0) lines.push("", `Stands or waits too long: ${drift.brokenWaits.join(", ")}.`);
  return lines.join("\n");
}
