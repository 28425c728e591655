import type { CalendarRequest, SheetsRequest } from "../../operations/sheets.js";
import { Problem } from "../../problem.js";
import type { Asked, Route } from "../route.js";

/** Runs a quick operation about a stored day, for routes that give its answer in another form. */
async function ask(asked: Asked, operation: string, request: object): Promise<unknown> {
  const { days, quick } = asked.services;
  const record = await days.record(asked.params.day!);
  const dayTexts = await days.texts(record.id, record.versions);
  const text = await quick
    .runTexts(operation, { dayTexts, requestText: JSON.stringify(request) })
    .catch((error: Error) => {
      throw error.name === "BadRequest" ? new Problem("not-found", `${error.message}.`) : error;
    });
  return JSON.parse(text);
}

const NAME = { type: "string", pattern: "^[a-z0-9][a-z0-9-]{0,62}$" } as const;

/** A page of its own: it has styles in its markup, and nothing else. */
const SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'";

/** What is hung up or subscribed to: of the timetable in force, for browsers and calendars. */
export const sheetRoutes: readonly Route[] = [
  {
    id: "readSheets",
    method: "GET",
    path: "/api/days/{day}/sheets",
    tag: "Stations",
    summary: "Sheets of the timetable in force, as one page to print",
    role: "viewer",
    query: {
      site: { ...NAME, description: "Only this site's." },
      kind: { ...NAME, description: "Only sheets of this kind." },
      paper: { enum: ["a4", "letter"] },
    },
    answers: { 200: { description: "The page.", types: { "text/html": { type: "string" } } } },
    handle: async (asked) => {
      const { site, kind, paper } = asked.query as { site?: string; kind?: string; paper?: "a4" | "letter" };
      const request: SheetsRequest = {
        html: true,
        ...(site === undefined ? {} : { sites: [site] }),
        ...(kind === undefined ? {} : { kinds: [kind] }),
        ...(paper === undefined ? {} : { paper }),
      };
      const { html } = (await ask(asked, "sheets", request)) as { html: string };
      return { status: 200, type: "text/html", text: html, headers: { "Content-Security-Policy": SHEET_POLICY } };
    },
  },
  {
    id: "readCalendar",
    method: "GET",
    path: "/api/days/{day}/calendar",
    tag: "Stations",
    summary: "A calendar to subscribe to (RFC 5545), of the timetable in force",
    about: "Calendar programs that cannot send a bearer token give it as the password of HTTP Basic authentication.",
    role: "viewer",
    query: {
      who: {
        type: "string",
        maxLength: 200,
        description: "SITE/UNIT, SITE/OVEN/DECK, SITE/GROUP or SITE/GROUP/NUMBER.",
      },
      alarm: { type: "integer", minimum: 0, maximum: 1440, description: "Minutes before each task." },
    },
    answers: { 200: { description: "The calendar.", types: { "text/calendar": { type: "string" } } } },
    handle: async (asked) => {
      const { who, alarm } = asked.query as { who?: string; alarm?: number };
      if (who === undefined)
        throw new Problem("bad-request", "Say whose: who=SITE/UNIT, SITE/GROUP or SITE/GROUP/NUMBER.");
      const request: CalendarRequest = { who, ...(alarm === undefined ? {} : { alarmMinutes: alarm }) };
      const { calendars } = (await ask(asked, "calendar", request)) as { calendars: { text: string }[] };
      return { status: 200, type: "text/calendar", text: calendars[0]!.text };
    },
  },
];
