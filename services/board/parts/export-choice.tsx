import { filesOf } from "../../day-files.js";
import type { OpenDay } from "../data/types.js";
import { zipOf } from "../logic/zip.js";
import { download } from "./download.js";

const EVERYTHING = "everything";
const NAMES = ["network", "catalogue", "orders", "settings", "happenings", "timetable"] as const;

/** All documents of a day in one file, which "Import files" takes back. */
export function giveAll({ id, documents, timetable, record }: OpenDay): void {
  download(`${id}.zip`, zipOf(filesOf(documents, timetable), id, new Date(record.changedAt)));
}

function give(day: OpenDay, what: string): void {
  if (what === EVERYTHING) {
    giveAll(day);
    return;
  }
  const name = what as (typeof NAMES)[number];
  const value = name === "timetable" ? day.timetable : day.documents[name];
  download(`${day.id}-${name}.json`, `${JSON.stringify(value, null, 2)}\n`);
}

/** Gives the open day as files: all of it as a day folder has it, or one document. */
export function ExportChoice({ day }: { day: OpenDay }) {
  return (
    <select
      class="entry"
      aria-label="Export"
      value=""
      onChange={(event) => {
        const what = event.currentTarget.value;
        event.currentTarget.value = "";
        if (what !== "") give(day, what);
      }}
    >
      <option value="">Export…</option>
      <option value={EVERYTHING}>everything, as a zip of the day folder</option>
      {NAMES.filter((name) => name !== "timetable" || day.timetable).map((name) => (
        <option key={name} value={name}>
          {name}
        </option>
      ))}
    </select>
  );
}
