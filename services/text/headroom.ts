import type { DayDocuments, Headroom, RemedyReport, Trial } from "../../schemas/index.js";
import { choiceWords, limitWords, linesAsTold, siteName } from "../../solver/index.js";
import { table } from "./table.js";

function times(multiple: number): string {
  return `x ${multiple.toFixed(2)}`;
}

function percent(part: number, whole: number): string {
  return whole === 0 ? "" : `${((100 * part) / whole).toFixed(1)} %`;
}

/** The answer in a sentence or two, before any figures. */
function answer(day: DayDocuments, headroom: Headroom): string[] {
  const { verdict, fitsAt, certainlyNotAbove, isBounded, atLeastShort } = headroom;
  const pieces = linesAsTold(day).reduce((sum, line) => sum + line.pieces, 0);
  const limit = isBounded
    ? `Above ${times(certainlyNotAbove)} it certainly does not.`
    : `Up to ${times(certainlyNotAbove)} nothing rules it out.`;
  if (verdict === "fits")
    return [
      `Yes, it fits. A verified timetable has every line in full and on time at ${times(fitsAt!)} of the orders.`,
      limit,
    ];
  const fits =
    fitsAt === undefined
      ? "No multiple was found that fits in the time given."
      : `A verified timetable has every line in full and on time at ${times(fitsAt)} of the orders.`;
  if (verdict === "does-not-fit") {
    const short =
      atLeastShort > 0 ? ` Whoever plans it, at least ${atLeastShort} of ${pieces} pieces would be short or late.` : "";
    return [`No, as ordered it does not fit, and that is certain.${short}`, `${fits} ${limit}`];
  }
  return [
    "Not known yet: no timetable was found that has everything on time, and nothing rules one out.",
    `${fits} ${limit}`,
    "A longer search may tell (--seconds).",
  ];
}

/** Of the trials of a multiple the best. */
function curve(trials: readonly Trial[]): string[] {
  const best = new Map<number, Trial>();
  for (const trial of trials) {
    const known = best.get(trial.multiple);
    if (!known || trial.piecesOnTime > known.piecesOnTime) best.set(trial.multiple, trial);
  }
  const rows = [...best.values()].map((trial) => [
    `  ${times(trial.multiple)}`,
    `${trial.linesOnTime} of ${trial.lines} lines`,
    `${trial.piecesOnTime} of ${trial.pieces} pieces`,
    percent(trial.piecesOnTime, trial.pieces),
    trial.fits ? "fits" : "",
  ]);
  return rows.length === 0 ? [] : ["", "On time, in full, in the best timetable found", ...table(rows, [1, 2, 3])];
}

function bindingLines(headroom: Headroom): string[] {
  if (headroom.binding.length === 0) return [];
  const rows = headroom.binding.map(({ text, there, before, easedTo }, i) => {
    const full = there === undefined ? "" : ` (all ${Math.round(there)} taken)`;
    const eased =
      easedTo === undefined || before === undefined
        ? ""
        : `\n     with a tenth more of it the limit would be ${((100 * easedTo) / before - 100).toFixed(1)} % higher`;
    return `  ${i + 1}. ${text}${full}${eased}`;
  });
  const before = headroom.binding.find((one) => one.before !== undefined)?.before;
  const { isBounded, certainlyNotAbove } = headroom;
  const coarse =
    before !== undefined && isBounded && before > certainlyNotAbove + 0.005
      ? [
          `  (By how much is reckoned by a coarser sum, which lets tubs and pans be part full: its limit is ${times(before)}, the certain one ${times(certainlyNotAbove)}.)`,
        ]
      : [];
  return ["", "What gives out first", ...rows, ...coarse];
}

function heldBackLines(day: DayDocuments, headroom: Headroom): string[] {
  if (headroom.heldBack.length === 0) return [];
  const rows = headroom.heldBack
    .slice(0, 8)
    .map(({ kind, site, lines, pieces }) => [
      `  ${limitWords(kind)}`,
      site === undefined ? "" : siteName(day, site),
      `${lines} ${lines === 1 ? "line" : "lines"}`,
      `${pieces} pieces`,
    ]);
  return ["", "What held lines back in the best timetable of the orders as they are", ...table(rows, [2, 3])];
}

export function headroomText(day: DayDocuments, headroom: Headroom): string {
  const grows = Object.keys(headroom.grows).length === 0 ? "every line" : choiceWords(day, headroom.grows);
  const lines = [
    headroom.name,
    `How much fits, when ${grows} grows?`,
    "",
    ...answer(day, headroom),
    ...bindingLines(headroom),
    ...curve(headroom.trials),
    ...heldBackLines(day, headroom),
    "",
    `First verdict after ${headroom.seconds.firstVerdict.toFixed(1)} s, all after ${headroom.seconds.all.toFixed(1)} s; ${headroom.trials.length} ${headroom.trials.length === 1 ? "timetable" : "timetables"} searched and verified.`,
  ];
  return `${lines.join("\n")}\n`;
}

/** Why there is no change to name as the answer: none helps, or there was no time to draw one up. */
function noneFits({ tried, proposed }: RemedyReport): string {
  if (tried.length === 0)
    return proposed === 0
      ? "No change is known that could help."
      : `None of the ${proposed} changes that were thought of could be drawn up in the time given, or each certainly leaves as much short. More time may tell (--seconds).`;
  const one =
    tried.length === 1
      ? "The one change that was drawn up does not make"
      : `None of the ${tried.length} changes that were drawn up makes`;
  const best = tried.some(({ morePiecesOnTime }) => morePiecesOnTime > 0)
    ? tried.length === 1
      ? "it helps"
      : "the first of the list helps most"
    : "no change drawn up helps";
  return `${one} all of it fit; ${best}.`;
}

export function remediesText(day: DayDocuments, report: RemedyReport): string {
  const currency = day.settings.currency ?? "";
  const { asItIs, tried, multiple } = report;
  const trial = asItIs.trial;
  const missing = trial ? trial.pieces - trial.piecesOnTime : 0;
  const fixing = tried.filter(({ fits }) => fits);
  const head = trial?.fits
    ? "It fits as it is; no remedy is needed."
    : fixing.length > 0
      ? `${fixing.length} of the ${tried.length} changes that were drawn up ${fixing.length === 1 ? "makes" : "make"} it fit. The cheapest: ${fixing[0]!.text}.`
      : noneFits(report);
  const rows = tried.map((remedy) => [
    remedy.fits ? "  fits" : `  ${remedy.trial.pieces - remedy.trial.piecesOnTime} short or late`,
    `${remedy.cost.toFixed(0)} ${currency}`.trim(),
    remedy.morePiecesOnTime >= 0 ? `+${remedy.morePiecesOnTime}` : String(remedy.morePiecesOnTime),
    remedy.text,
  ]);
  const lines = [
    report.name,
    `What would make ${multiple === 1 ? "it" : `${times(multiple)} of the orders`} fit?`,
    "",
    head,
    trial
      ? `As it is, ${missing} of ${trial.pieces} pieces are short or late in the best timetable found${asItIs.atLeastShort > 0 ? `; ${asItIs.atLeastShort} would be in any` : ""}.`
      : "",
    "",
    ...(rows.length > 0
      ? [
          "Each drawn up through the whole pipeline and verified: result, stated cost, pieces on time gained, change",
          ...table(rows, [1, 2]),
          "",
        ]
      : []),
    `${report.proposed} changes thought of; those that certainly leave as much short were not drawn up. ${report.seconds.toFixed(0)} s.`,
    "Costs are by the prices in settings.json (placeholders where none are given).",
  ];
  return `${lines.join("\n")}\n`;
}
