import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { DAY_FILES } from "../../day-files.js";
import { dropDrafts } from "../data/drafts.js";
import { changeByFiles, directlyIn, dropped, makeFromFiles, nameOf, readChosen } from "../data/files.js";
import { days, showNewDay } from "../data/open-days.js";
import { discard } from "../data/proposal.js";
import { BoardError, type OpenDay } from "../data/types.js";
import { type ChosenFile, DOCUMENT_WORDS, isWhole, type SortedFiles, sortFiles } from "../logic/folder.js";
import { dayName, freeId } from "../logic/new-day.js";
import { opened, spoken } from "../state.js";
import { FileButton } from "./file-button.js";
import { FileFaults } from "./file-faults.js";
import { KeptAsField } from "./kept-as-field.js";

type Into = "new" | "open";

function FileList({ sorted, onLeaveOut }: { sorted: SortedFiles; onLeaveOut: (name: string) => void }) {
  return (
    <ul class="file-list" aria-label="Chosen files">
      {sorted.taken.map(({ name, as, trouble }) => (
        <li key={name}>
          <b>{name}</b>
          <span class={trouble ? "tag alarm" : "quiet"}>{trouble ?? DOCUMENT_WORDS[DAY_FILES[as]]}</span>
          <button type="button" class="btn slim" aria-label={`Leave out ${name}`} onClick={() => onLeaveOut(name)}>
            Leave out
          </button>
        </li>
      ))}
      {sorted.left.map(({ name, why }) => (
        <li key={name} class="quiet">
          {name}
          <span>not read: {why}</span>
        </li>
      ))}
    </ul>
  );
}

/** What becomes of the open day. */
function effectText(day: OpenDay, sorted: SortedFiles): string {
  if (!isWhole(sorted)) return "What was not chosen stays as it is.";
  const keeps = sorted.taken.some(({ as }) => as === "timetable-in-force.json");
  const timetable = day.timetable && !keeps ? " Its timetable is then no longer in force." : "";
  return `All of ${dayName(day.id)} is replaced; its versions are kept.${timetable}`;
}

/** Files of a day folder, chosen or dropped together: as a new day, or into the open one. All are taken, or none. */
export function ImportCard({ day }: { day: OpenDay | undefined }) {
  const chosen = useSignal<readonly ChosenFile[]>([]);
  const into = useSignal<Into | undefined>(undefined);
  const keptAs = useSignal("");
  const trouble = useSignal<BoardError | undefined>(undefined);
  const isChecking = useSignal(false);
  const taken = useSignal("");
  const sorted = sortFiles(chosen.value);
  const isNew = day === undefined || (into.value ?? (isWhole(sorted) ? "new" : "open")) === "new";
  const isReady = sorted.taken.length > 0 && sorted.taken.every((file) => file.trouble === undefined);

  const take = async (files: readonly File[], folder: string): Promise<void> => {
    const read = (await Promise.all(files.map(readChosen))).flat();
    const fresh = new Set(read.map(({ name }) => name));
    chosen.value = [...chosen.value.filter(({ name }) => !fresh.has(name)), ...read];
    trouble.value = undefined;
    taken.value = "";
    if (keptAs.value === "")
      keptAs.value = freeId(
        nameOf(files, folder) || "own-kitchen",
        days.value.map(({ id }) => id),
      );
    spoken.value = `${read.length} files read.`;
  };
  useEffect(() => {
    const onDragOver = (event: DragEvent): void => {
      if (event.dataTransfer?.types.includes("Files")) event.preventDefault();
    };
    const onDrop = (event: DragEvent): void => {
      if (!event.dataTransfer?.types.includes("Files")) return;
      event.preventDefault();
      void dropped(event.dataTransfer).then(({ files, folder }) => take(files, folder));
    };
    addEventListener("dragover", onDragOver);
    addEventListener("drop", onDrop);
    return () => {
      removeEventListener("dragover", onDragOver);
      removeEventListener("drop", onDrop);
    };
  });
  const checkAndTake = async (): Promise<void> => {
    isChecking.value = true;
    trouble.value = undefined;
    try {
      if (isNew) {
        await makeFromFiles(keptAs.value, sorted);
        spoken.value = "The files are taken as a new day.";
        await showNewDay(keptAs.value, "#/today");
      } else {
        opened.value = await changeByFiles(day, sorted);
        discard();
        dropDrafts(day.id, new Set(sorted.taken.map(({ as }) => DAY_FILES[as])));
        taken.value = `Taken into ${dayName(day.id)}: ${sorted.taken.map(({ name }) => name).join(", ")}.`;
      }
      chosen.value = [];
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
    } finally {
      isChecking.value = false;
    }
  };
  return (
    <section class="card import" aria-labelledby="import-title">
      <h2 id="import-title">Import files</h2>
      <p>
        The files of a day folder: network.json, catalogue.json, orders.csv or orders.json, and settings.json;
        happenings.json and timetable-in-force.json where there are such. Choose them together, or drop them on this
        page; a zip of them, such as Export gives, is taken as well. They are checked together; all are taken, or none.
      </p>
      <div class="import-do">
        <FileButton
          text="Choose files"
          label="Files of a day"
          accept=".json,.csv,.zip,application/json,text/csv,application/zip"
          onFiles={(files) => void take(files, "")}
        />
        <FileButton
          text="Choose a folder"
          label="Folder of a day"
          isFolder
          onFiles={(files) => void take(directlyIn(files), files[0]!.webkitRelativePath.split("/")[0]!)}
        />
      </div>
      {chosen.value.length > 0 && (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            void checkAndTake();
          }}
        >
          <FileList
            sorted={sorted}
            onLeaveOut={(name) => {
              chosen.value = chosen.value.filter((file) => file.name !== name);
            }}
          />
          {day && (
            <fieldset class="import-into">
              <legend>Take them</legend>
              <label>
                <input
                  type="radio"
                  name="into"
                  checked={isNew}
                  onChange={() => {
                    into.value = "new";
                  }}
                />{" "}
                as a new day
              </label>
              <label>
                <input
                  type="radio"
                  name="into"
                  checked={!isNew}
                  onChange={() => {
                    into.value = "open";
                  }}
                />{" "}
                in place of what {dayName(day.id)} has
              </label>
            </fieldset>
          )}
          {isNew ? (
            <KeptAsField value={keptAs.value} onValue={(value) => (keptAs.value = value)} />
          ) : (
            <p class="quiet">{effectText(day, sorted)}</p>
          )}
          <div class="import-do">
            <button type="submit" class="btn main" disabled={!isReady || isChecking.value}>
              {isChecking.value ? "Checking…" : "Check and take"}
            </button>
          </div>
        </form>
      )}
      {taken.value !== "" && (
        <p class="note good" role="status">
          {taken.value}
        </p>
      )}
      {trouble.value && (
        <>
          <FileFaults error={trouble.value} />
          <p class="quiet">Mend the files and choose those again; the others are still here.</p>
        </>
      )}
    </section>
  );
}
