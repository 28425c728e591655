import { useSignal } from "@preact/signals";
import { changeScenario, removeScenario, type Trial, tryScenario } from "../data/scenarios.js";
import { mayPlan } from "../data/session.js";
import { imaginings } from "../logic/imagine.js";
import type { Plan } from "../logic/plan.js";
import { changeText, type KeptScenario } from "../logic/scenario.js";
import { money } from "../logic/summary.js";
import { opened } from "../state.js";
import { AskForm } from "./ask-form.js";
import { DayFigures } from "./day-figures.js";
import { download } from "./download.js";

import { Faults } from "./faults.js";

interface Props {
  readonly kept: KeptScenario;
  readonly trial: Trial | undefined;
  readonly base: Plan;
  readonly seconds: number;
  readonly isShown: boolean;
  readonly onShow: () => void;
}

/** How the drawing of a scenario goes. */
function TrialProgress({ trial, currency }: { trial: Trial; currency: string | undefined }) {
  const elapsed = Math.min(trial.seconds, (trial.news?.elapsedMs ?? 0) / 1000);
  return (
    <div class="asking">
      <progress max={trial.seconds} value={elapsed} aria-label="Time of the search" />
      <span class="small" role="status">
        {trial.news?.cost === undefined ? "Drawing up" : `Cost ${money(trial.news.cost, currency)}`}
      </span>
      <button
        type="button"
        class="btn slim"
        disabled={!trial.run || !mayPlan.value}
        onClick={() => void trial.run?.stop()}
      >
        Stop and keep
      </button>
    </div>
  );
}

/** One what-if: what is changed, and how the day would do with all of it. */
export function ScenarioCard({ kept, trial, base, seconds, isShown, onShow }: Props) {
  const { id, document } = kept;
  const isAdding = useSignal(document.changes.length === 0);
  const { documents } = opened.value!;
  const isStale = trial?.is === "done" && JSON.stringify(trial.changes) !== JSON.stringify(document.changes);
  const isRunning = trial?.is === "running";
  return (
    <article
      id={`scenario-${id}`}
      class={`card scenario ${isShown ? "is-shown" : ""}`}
      aria-label={document.name}
      tabIndex={-1}
    >
      <div class="side-title">
        <input
          class="scenario-name"
          aria-label="Name of the scenario"
          title={document.name}
          value={document.name}
          maxLength={100}
          onChange={(event) => changeScenario(id, { name: event.currentTarget.value.trim() || "Scenario" })}
        />
        <button
          type="button"
          class="btn slim bare"
          aria-label={`Remove ${document.name}`}
          onClick={() => removeScenario(id)}
        >
          ✕
        </button>
      </div>
      {document.changes.length > 0 && (
        <ul class="pending" aria-label="What is otherwise">
          {document.changes.map((change, i) => {
            const text = changeText(documents, change);
            return (
              <li key={`${i} ${text}`}>
                <span>{text}</span>
                <button
                  type="button"
                  class="btn slim bare"
                  aria-label={`Take back: ${text}`}
                  onClick={() => changeScenario(id, { changes: document.changes.filter((_, k) => k !== i) })}
                >
                  ✕
                </button>
              </li>
            );
          })}
        </ul>
      )}
      {isAdding.value ? (
        <AskForm
          label="Imagine"
          kinds={imaginings(documents)}
          onAdd={(change) => {
            changeScenario(id, { changes: [...document.changes, change] });
            isAdding.value = false;
          }}
          onLeave={() => {
            isAdding.value = false;
          }}
        />
      ) : (
        <button
          type="button"
          class="btn slim"
          onClick={() => {
            isAdding.value = true;
          }}
        >
          Imagine something more
        </button>
      )}
      {isRunning && <TrialProgress trial={trial} currency={documents.settings.currency} />}
      {trial?.is === "failed" && trial.trouble && <Faults error={trial.trouble} />}
      {trial?.plan && <DayFigures result={trial.plan} base={base} />}
      {isStale && <p class="note warn small">Drawn up before the last change here.</p>}
      <div class="move-do">
        <button
          type="button"
          class="btn main slim"
          disabled={isRunning || !mayPlan.value}
          onClick={() => void tryScenario(kept, seconds)}
        >
          {trial?.plan ? "Draw up again" : "Draw up"}
        </button>
        {trial?.plan && (
          <button type="button" class="btn slim" aria-pressed={isShown} onClick={onShow}>
            How full
          </button>
        )}
        <button
          type="button"
          class="btn slim"
          title="As a document for the command line, or for another device"
          onClick={() =>
            download(
              `${document.name
                .toLowerCase()
                .replaceAll(/[^a-z0-9]+/g, "-")
                .slice(0, 60)}.scenario.json`,
              `${JSON.stringify(document, null, 2)}\n`,
            )
          }
        >
          Save as a file
        </button>
      </div>
    </article>
  );
}
