import { useSignal } from "@preact/signals";
import { useMemo } from "preact/hooks";
import {
  addScenario,
  changeScenario,
  removeScenario,
  scenarios,
  type Trial,
  trials,
  tryScenario,
} from "../data/scenarios.js";
import type { Plan } from "../logic/plan.js";
import { editText, type Scenario } from "../logic/scenario.js";
import { money, tally } from "../logic/summary.js";
import { EditForm } from "../parts/edit-form.js";
import { Faults } from "../parts/faults.js";
import { FullnessStrip } from "../parts/fullness-strip.js";
import { HeadroomCard } from "../parts/headroom-card.js";
import { RemediesCard } from "../parts/remedies-card.js";
import { opened, plan } from "../state.js";

interface Figure {
  readonly name: string;
  readonly of: (plan: Plan) => number;
  readonly text: (value: number, plan: Plan) => string;
  readonly moreIsBetter: boolean;
}

const kwh = (plan: Plan): number =>
  plan.timetable.cost.parts.filter((part) => part.unit === "kWh").reduce((sum, part) => sum + part.quantity, 0);

const FIGURES: readonly Figure[] = [
  {
    name: "Orders on time",
    of: (p) => tally(p).onTime,
    text: (n, p) => `${n} of ${tally(p).orders}`,
    moreIsBetter: true,
  },
  {
    name: "Pieces not made",
    of: (p) => p.timetable.orders.reduce((sum, order) => sum + order.shortPieces, 0),
    text: (n) => n.toLocaleString("en-GB"),
    moreIsBetter: false,
  },
  { name: "Orders late", of: (p) => tally(p).late, text: (n) => `${n}`, moreIsBetter: false },
  {
    name: "Pieces made",
    of: (p) => p.timetable.loads.reduce((sum, load) => sum + load.pieces, 0),
    text: (n) => n.toLocaleString("en-GB"),
    moreIsBetter: true,
  },
  { name: "Energy", of: kwh, text: (n) => `${Math.round(n)} kWh`, moreIsBetter: false },
  {
    name: "Cost, all counted",
    of: (p) => p.timetable.cost.total,
    text: (n, p) => money(n, p.day.settings.currency),
    moreIsBetter: false,
  },
];

function Result({ result, base }: { result: Plan; base: Plan | undefined }) {
  return (
    <dl class="what-figures">
      {FIGURES.map((figure) => {
        const value = figure.of(result);
        const by = base ? value - figure.of(base) : 0;
        const isBetter = by !== 0 && by > 0 === figure.moreIsBetter;
        return (
          <div key={figure.name}>
            <dt>{figure.name}</dt>
            <dd>
              <b>{figure.text(value, result)}</b>
              {base && Math.abs(by) >= 0.5 && (
                <span class={`tag ${isBetter ? "good" : "alarm"}`}>
                  {by > 0 ? "+" : "−"}
                  {Math.abs(by) >= 100
                    ? Math.round(Math.abs(by)).toLocaleString("en-GB")
                    : Math.round(Math.abs(by) * 10) / 10}
                </span>
              )}
            </dd>
          </div>
        );
      })}
    </dl>
  );
}

function ScenarioCard({
  scenario,
  trial,
  base,
  seconds,
  isShown,
  onShow,
}: {
  scenario: Scenario;
  trial: Trial | undefined;
  base: Plan;
  seconds: number;
  isShown: boolean;
  onShow: () => void;
}) {
  const isAdding = useSignal(scenario.edits.length === 0);
  const { documents } = opened.value!;
  const isStale = trial?.is === "done" && JSON.stringify(trial.edits) !== JSON.stringify(scenario.edits);
  return (
    <article class={`card scenario ${isShown ? "is-shown" : ""}`}>
      <div class="side-title">
        <input
          class="scenario-name"
          aria-label="Name of the scenario"
          value={scenario.name}
          maxLength={60}
          onChange={(event) => changeScenario(scenario.id, { name: event.currentTarget.value.trim() || "Scenario" })}
        />
        <button
          type="button"
          class="btn slim bare"
          aria-label={`Remove ${scenario.name}`}
          onClick={() => removeScenario(scenario.id)}
        >
          ✕
        </button>
      </div>
      <ul class="pending">
        {scenario.edits.map((edit, i) => (
          <li key={JSON.stringify(edit)}>
            <span>{editText(documents, edit)}</span>
            <button
              type="button"
              class="btn slim bare"
              aria-label={`Take back: ${editText(documents, edit)}`}
              onClick={() => changeScenario(scenario.id, { edits: scenario.edits.filter((_, k) => k !== i) })}
            >
              ✕
            </button>
          </li>
        ))}
      </ul>
      {isAdding.value ? (
        <EditForm
          documents={documents}
          onAdd={(edit) => {
            changeScenario(scenario.id, { edits: [...scenario.edits, edit] });
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
      {trial?.is === "running" && (
        <p class="small" role="status">
          Drawing up…{" "}
          {trial.news?.cost === undefined
            ? trial.news?.phase
            : `cost ${money(trial.news.cost, documents.settings.currency)}`}
        </p>
      )}
      {trial?.is === "failed" && trial.trouble && <Faults error={trial.trouble} />}
      {trial?.plan && <Result result={trial.plan} base={base} />}
      {isStale && <p class="note warn small">Drawn up before the last change here.</p>}
      <div class="move-do">
        <button
          type="button"
          class="btn main slim"
          disabled={trial?.is === "running"}
          onClick={() => void tryScenario(scenario, seconds)}
        >
          {trial?.plan ? "Draw up again" : "Draw up"}
        </button>
        {trial?.plan && (
          <button type="button" class="btn slim" aria-pressed={isShown} onClick={onShow}>
            How full
          </button>
        )}
      </div>
    </article>
  );
}

/** Other worlds beside the real one: more orders, less or more equipment, people, vans. */
export function WhatIfPage() {
  const base = plan.value;
  const seconds = useSignal(8);
  const shown = useSignal<string | undefined>(undefined);
  const shownPlan = (shown.value && trials.value.get(shown.value)?.plan) || base;
  const shownName = scenarios.value.find((scenario) => scenario.id === shown.value)?.name ?? "As it is";
  const strip = useMemo(() => shownPlan, [shownPlan]);
  if (!base)
    return <p class="waiting">There is no timetable yet. Draw one up under Today; scenarios are compared with it.</p>;
  return (
    <div class="page">
      <header>
        <h1>What if</h1>
        <p>Nothing here touches the day. Every figure is from a timetable that was really drawn up and checked.</p>
        <label class="small quiet what-seconds">
          Search each for{" "}
          <select
            class="entry"
            value={String(seconds.value)}
            onChange={(event) => {
              seconds.value = Number(event.currentTarget.value);
            }}
          >
            <option value="4">4 s</option>
            <option value="8">8 s</option>
            <option value="20">20 s</option>
            <option value="60">1 min</option>
          </select>
        </label>
      </header>
      <div class="scenarios">
        <article class={`card scenario base ${shownPlan === base ? "is-shown" : ""}`}>
          <h2>As it is</h2>
          <p class="small quiet">The timetable in force, {opened.value!.documents.settings.name}.</p>
          <Result result={base} base={undefined} />
          <div class="move-do">
            <button
              type="button"
              class="btn slim"
              aria-pressed={shownPlan === base}
              onClick={() => {
                shown.value = undefined;
              }}
            >
              How full
            </button>
          </div>
        </article>
        {scenarios.value.map((scenario) => (
          <ScenarioCard
            key={scenario.id}
            scenario={scenario}
            trial={trials.value.get(scenario.id)}
            base={base}
            seconds={seconds.value}
            isShown={shown.value === scenario.id && trials.value.get(scenario.id)?.plan !== undefined}
            onShow={() => {
              shown.value = scenario.id;
            }}
          />
        ))}
        <div class="card scenario starts">
          <h2>Imagine…</h2>
          <button
            type="button"
            class="btn"
            onClick={() => addScenario("Orders half as many again", [{ kind: "orders", factor: 1.5 }])}
          >
            Orders × 1.5
          </button>
          <button
            type="button"
            class="btn"
            onClick={() => addScenario("Orders a fifth more", [{ kind: "orders", factor: 1.2 }])}
          >
            Orders × 1.2
          </button>
          <button type="button" class="btn" onClick={() => addScenario(`Scenario ${scenarios.value.length + 1}`, [])}>
            Something else
          </button>
        </div>
      </div>
      <HeadroomCard seconds={seconds.value} />
      <RemediesCard seconds={seconds.value} />
      {strip && <FullnessStrip plan={strip} name={shownName} />}
    </div>
  );
}
