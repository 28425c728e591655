import { filesOf } from "../../day-files.js";
import type { OpenDay } from "../data/types.js";
import { download } from "./download.js";

const EVERYTHING = "everything";
const NAMES = ["network", "catalogue", "orders", "settings", "happenings", "timetable"] as const;

function give(day: OpenDay, what: string): void {
  if (what === EVERYTHING) {
    for (const [name, text] of filesOf(day.documents, day.timetable)) download(name, text);
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
      <option value={EVERYTHING}>everything, as a day folder's files</option>
      {NAMES.filter((name) => name !== "timetable" || day.timetable).map((name) => (
        <option key={name} value={name}>
          {name}
        </option>
      ))}
    </select>
  );
}
