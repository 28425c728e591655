import { useSignal } from "@preact/signals";
import { run } from "../data/jobs.js";
import { addScenario } from "../data/scenarios.js";
import { BoardError } from "../data/types.js";
import { money } from "../logic/summary.js";
import { opened } from "../state.js";
import { Faults } from "./faults.js";

/** The part of the server's answer that is shown. */
interface Report {
  readonly multiple: number;
  readonly tried: readonly {
    readonly name: string;
    readonly text: string;
    readonly cost: number;
    readonly fits: boolean;
    readonly morePiecesOnTime: number;
    readonly changes: readonly object[];
  }[];
  readonly proposed: number;
}

/** So many searches of the chosen length: the day as it is, and what is most promising. */
const TRIALS = 20;

/** What would make the orders fit: changes that were really drawn up again, the most effective first. */
export function RemediesCard({ seconds }: { seconds: number }) {
  const report = useSignal<Report | undefined>(undefined);
  const multiple = useSignal(1.2);
  const isRunning = useSignal(false);
  const trouble = useSignal<BoardError | undefined>(undefined);
  const ask = async (): Promise<void> => {
    const day = opened.value;
    if (!day) return;
    isRunning.value = true;
    trouble.value = undefined;
    try {
      const job = await run<Report>(day.id, "remedies", { multiple: multiple.value, seconds: seconds * TRIALS });
      report.value = await job.done;
    } catch (error) {
      const known = error instanceof BoardError ? error : new BoardError((error as Error).message);
      trouble.value = known.isMissing
        ? new BoardError("This server cannot look for remedies.", "Imagine changes above and draw them up one by one.")
        : known;
    } finally {
      isRunning.value = false;
    }
  };
  const currency = opened.value?.documents.settings.currency;
  return (
    <section class="card headroom">
      <div class="side-title">
        <div>
          <h2>What would help</h2>
          <p class="quiet small">
            Changes that a planner can make, each drawn up again and checked, the most effective first.
          </p>
        </div>
        <div class="move-do">
          <label class="small quiet">
            for orders{" "}
            <select
              class="entry"
              value={String(multiple.value)}
              onChange={(event) => {
                multiple.value = Number(event.currentTarget.value);
              }}
            >
              {[1, 1.1, 1.2, 1.5, 2].map((one) => (
                <option key={one} value={String(one)}>
                  × {one}
                </option>
              ))}
            </select>
          </label>
          <button type="button" class="btn" disabled={isRunning.value} onClick={() => void ask()}>
            {isRunning.value ? `Trying for up to ${seconds * TRIALS} s…` : "Try remedies"}
          </button>
        </div>
      </div>
      {trouble.value && <Faults error={trouble.value} />}
      {report.value && report.value.tried.length === 0 && (
        <p class="note">
          {report.value.proposed === 0
            ? "Nothing is wanting, so there is nothing to mend."
            : `${report.value.proposed} changes were thought of, but there was no time to draw one up. Search each for longer.`}
        </p>
      )}
      {report.value && report.value.tried.length > 0 && (
        <ol class="remedies">
          {report.value.tried.slice(0, 12).map((remedy) => (
            <li key={remedy.name + remedy.text}>
              <span>
                <b>{remedy.name}</b> {remedy.text !== remedy.name && <span class="quiet">{remedy.text}</span>}
              </span>
              <span class={`tag ${remedy.fits ? "good" : remedy.morePiecesOnTime > 0 ? "warn" : ""}`}>
                {remedy.fits
                  ? "everything fits"
                  : `${remedy.morePiecesOnTime > 0 ? "+" : ""}${remedy.morePiecesOnTime.toLocaleString("en-GB")} pieces on time`}
              </span>
              <span class="quiet">{money(remedy.cost, currency)}</span>
              <button
                type="button"
                class="btn slim"
                onClick={() => {
                  const grown =
                    report.value!.multiple === 1 ? [] : [{ kind: "orders" as const, factor: report.value!.multiple }];
                  addScenario(remedy.name.slice(0, 60), [
                    ...grown,
                    ...remedy.changes.map((change) => ({ kind: "change" as const, change, words: remedy.text })),
                  ]);
                }}
              >
                As a scenario
              </button>
            </li>
          ))}
        </ol>
      )}
    </section>
  );
}
