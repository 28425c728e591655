import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import type { DocumentName, Timetable } from "../../../schemas/index.js";
import { history, readVersion, type VersionEntry } from "../data/days.js";
import { mayPlan } from "../data/session.js";
import { BoardError } from "../data/types.js";
import { commit } from "../data/undo.js";
import { type ChangeList, changesBetween } from "../logic/changes.js";
import { dayText, hhmm } from "../logic/clock.js";
import { readPlan } from "../logic/plan.js";
import { money } from "../logic/summary.js";
import { forcePlan, opened, spoken } from "../state.js";
import { Faults } from "./faults.js";

const NAMES: readonly DocumentName[] = ["timetable", "orders", "happenings", "network", "catalogue", "settings"];

/** Every version of every document: who changed it, when and why; a version can be looked at beside the present one and brought back. */
export function HistoryCard() {
  const day = opened.value!;
  const name = useSignal<DocumentName>("timetable");
  const versions = useSignal<readonly VersionEntry[]>([]);
  const trouble = useSignal<BoardError | undefined>(undefined);
  const compared = useSignal<{ version: number; list: ChangeList } | undefined>(undefined);
  const now = day.record.versions[name.value];
  useEffect(() => {
    compared.value = undefined;
    history(day.id, name.value).then(
      (found) => {
        versions.value = found;
        trouble.value = undefined;
      },
      (error: BoardError) => {
        versions.value = [];
        trouble.value = error.status === 404 ? undefined : error;
      },
    );
  }, [day.id, name.value, day.record.change]);
  const bringBack = async (version: number): Promise<void> => {
    try {
      const value = await readVersion<never>(day.id, name.value, version);
      await commit(day, { [name.value]: value }, `${name.value} of version ${version} brought back`);
      spoken.value = `Version ${version} is in force again.`;
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
    }
  };
  const compare = async (version: number): Promise<void> => {
    const before = await readVersion<Timetable>(day.id, "timetable", version);
    const present = forcePlan.value;
    if (present) compared.value = { version, list: changesBetween(readPlan(day.documents, before), present) };
  };
  const zone = day.documents.network.sites[0]!.timeZone;
  return (
    <section class="card history">
      <div class="side-title">
        <h2>History</h2>
        <label class="small quiet">
          of the{" "}
          <select
            class="entry"
            value={name.value}
            onChange={(event) => {
              name.value = event.currentTarget.value as DocumentName;
            }}
          >
            {NAMES.map((one) => (
              <option key={one} value={one}>
                {one}
              </option>
            ))}
          </select>
        </label>
      </div>
      {trouble.value && <Faults error={trouble.value} />}
      {versions.value.length === 0 && <p class="quiet">No version yet.</p>}
      <ul>
        {versions.value.map((entry) => {
          const ms = Date.parse(entry.at);
          return (
            <li key={entry.version} class="history-line">
              <b>{entry.version}</b>
              <span>
                {dayText(zone, ms)} {hhmm(zone, ms)} <span class="quiet">by {entry.by}</span>
              </span>
              <span class="history-note">{entry.note ?? ""}</span>
              {entry.version === now ? (
                <span class="tag good">in force</span>
              ) : (
                <span class="move-do">
                  {name.value === "timetable" && (
                    <button type="button" class="btn slim" onClick={() => void compare(entry.version)}>
                      Compare
                    </button>
                  )}
                  {mayPlan.value && (
                    <button type="button" class="btn slim" onClick={() => void bringBack(entry.version)}>
                      Bring back
                    </button>
                  )}
                </span>
              )}
            </li>
          );
        })}
      </ul>
      {compared.value && (
        <p class="note" role="status">
          From version {compared.value.version} to the one in force: {compared.value.list.loads.length} changes,{" "}
          {compared.value.list.orders.length} orders fare otherwise, cost{" "}
          {money(compared.value.list.costBefore, undefined)} →{" "}
          {money(compared.value.list.costAfter, day.documents.settings.currency)}.
        </p>
      )}
    </section>
  );
}
