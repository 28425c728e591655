import type { Timetable } from "../../schemas/index.js";
import { diariesOf } from "../../solver/sheets/diary.js";
import { SHEET_KINDS, type Sheet } from "../../solver/sheets/index.js";
import { calendarText } from "../calendar.js";
import { chosenSheets, sheetFiles } from "../sheets/bundle.js";
import type { Paper } from "../sheets/layout.js";
import { BadRequest, operation } from "./operation.js";
import { timetableOf } from "./timetable-of.js";

const TIMETABLE = { $ref: "timetable.schema.json", description: "Default: the one in force." } as const;
const NAMES = { type: "array", maxItems: 50, items: { type: "string", maxLength: 63 } } as const;

export interface SheetsRequest {
  readonly timetable?: Timetable;
  readonly sites?: readonly string[];
  readonly kinds?: readonly string[];
  readonly paper?: Paper;
  readonly html?: boolean;
}

export const sheets = operation<SheetsRequest, { sheets?: readonly Sheet[]; html?: string }>({
  name: "sheets",
  summary: "sheets for every station",
  about:
    "The sheets that hang at the stations: mixes, pulls, shelves, benches, kettles, ovens, racks, vans, crews, orders. As data, or as one page to print.",
  isLong: false,
  request: {
    type: "object",
    additionalProperties: false,
    properties: {
      timetable: TIMETABLE,
      sites: NAMES,
      kinds: { type: "array", maxItems: 50, items: { enum: SHEET_KINDS } },
      paper: { enum: ["a4", "letter"], description: "Default: the day's settings, else a4." },
      html: { type: "boolean", description: "A page to print instead of data." },
    },
  },
  response: {
    type: "object",
    properties: {
      sheets: { type: "array", items: { type: "object", description: "Title, facts and tables of one sheet." } },
      html: { type: "string" },
    },
  },
  run: (day, { timetable: given, sites = [], kinds = [], paper, html }) => {
    const timetable = timetableOf(day, given);
    for (const site of sites)
      if (!day.network.sites.some(({ id }) => id === site)) throw new BadRequest(`there is no site "${site}"`);
    const chosen = chosenSheets(day, timetable, { sites, kinds });
    return html ? { html: sheetFiles(day, timetable, chosen, paper).get("all.html")! } : { sheets: chosen };
  },
});

export interface CalendarRequest {
  readonly timetable?: Timetable;
  readonly who?: string;
  readonly alarmMinutes?: number;
}

export const calendar = operation<CalendarRequest, { calendars: readonly { who: string; text: string }[] }>({
  name: "calendar",
  summary: "calendars of stations, crews and people",
  about: "RFC 5545 text: one calendar for each station, crew group and person that has anything to do, or one of them.",
  isLong: false,
  request: {
    type: "object",
    additionalProperties: false,
    properties: {
      timetable: TIMETABLE,
      who: {
        type: "string",
        maxLength: 200,
        description: "SITE/UNIT, SITE/OVEN/DECK, SITE/GROUP or SITE/GROUP/NUMBER.",
      },
      alarmMinutes: { type: "integer", minimum: 0, maximum: 1440 },
    },
  },
  response: {
    type: "object",
    required: ["calendars"],
    properties: {
      calendars: {
        type: "array",
        items: {
          type: "object",
          required: ["who", "text"],
          properties: { who: { type: "string" }, text: { type: "string" } },
        },
      },
    },
  },
  run: (day, { timetable: given, who, alarmMinutes }) => {
    const diaries = diariesOf(day, timetableOf(day, given));
    const wanted = who === undefined ? diaries : diaries.filter((diary) => diary.who === who);
    if (wanted.length === 0)
      throw new BadRequest(
        who === undefined
          ? "nobody has anything to do"
          : `nobody and nothing called "${who}" has anything to do; there are ${diaries.map((diary) => diary.who).join(", ")}`,
      );
    const how = { stampedAt: new Date(), ...(alarmMinutes === undefined ? {} : { alarmMinutes }) };
    return { calendars: wanted.map((diary) => ({ who: diary.who, text: calendarText(diary, how) })) };
  },
});
