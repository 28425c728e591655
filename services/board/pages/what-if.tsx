import { useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import type { DayChange } from "../../../schemas/index.js";
import { addScenario, keepScenario, scenarios, trials } from "../data/scenarios.js";
import { mayPlan } from "../data/session.js";
import { leavesOut, readScenario } from "../logic/scenario.js";
import { DayFigures } from "../parts/day-figures.js";
import { FullnessStrip } from "../parts/fullness-strip.js";
import { HeadroomCard } from "../parts/headroom-card.js";
import { LookOnly } from "../parts/look-only.js";
import { RemediesCard } from "../parts/remedies-card.js";
import { ScenarioCard } from "../parts/scenario-card.js";
import { SecondsChoice } from "../parts/seconds-choice.js";
import { forcePlan, opened } from "../state.js";

const STARTS: readonly { readonly text: string; readonly name: string; readonly changes: readonly DayChange[] }[] = [
  { text: "Orders × 1.2", name: "Orders a fifth more", changes: [{ kind: "multiply-orders", times: 1.2 }] },
  { text: "Orders × 1.5", name: "Orders half as many again", changes: [{ kind: "multiply-orders", times: 1.5 }] },
  { text: "Something else", name: "Something else", changes: [] },
];

/** Ways to begin a scenario: a usual one, an empty one, one from a file. */
function Starts() {
  const file = useRef<HTMLInputElement>(null);
  const trouble = useSignal("");
  const take = async (chosen: File): Promise<void> => {
    const read = readScenario(await chosen.text());
    trouble.value = typeof read === "string" ? `${chosen.name}: ${read}` : "";
    if (typeof read !== "string") keepScenario(read);
  };
  return (
    <div class="card scenario starts">
      <h2>Imagine…</h2>
      {STARTS.map(({ text, name, changes }) => (
        <button key={text} type="button" class="btn" onClick={() => addScenario(name, changes)}>
          {text}
        </button>
      ))}
      <button type="button" class="btn" onClick={() => file.current?.click()}>
        From a file
      </button>
      <input
        ref={file}
        class="unseen"
        type="file"
        tabIndex={-1}
        aria-label="Scenario as a file"
        accept=".json,application/json"
        onChange={(event) => {
          const chosen = event.currentTarget.files?.[0];
          if (chosen) void take(chosen);
          event.currentTarget.value = "";
        }}
      />
      {trouble.value && (
        <p class="note alarm small" role="alert">
          {trouble.value}
        </p>
      )}
    </div>
  );
}

/** Other worlds beside the real one: more orders, less or more equipment, people, vans. */
export function WhatIfPage() {
  const base = forcePlan.value;
  const seconds = useSignal(8);
  const shown = useSignal<string | undefined>(undefined);
  if (!base)
    return (
      <div class="page">
        <h1>What if</h1>
        <p class="waiting">
          There is no timetable yet. <a href="#/today">Draw one up under Today</a>; scenarios are compared with it.
        </p>
      </div>
    );
  const shownTrial = shown.value ? trials.value.get(shown.value)?.plan : undefined;
  const shownName = shownTrial ? scenarios.value.find(({ id }) => id === shown.value)?.document.name : undefined;
  return (
    <div class="page">
      <header>
        <h1>What if</h1>
        <p>
          Nothing here touches the day. Every figure is from a timetable that was really drawn up and checked.
          {leavesOut(opened.value!.documents) &&
            " Scenarios are drawn up from the day's beginning: what has begun and what is pinned is left out."}
        </p>
        <LookOnly does="draws up scenarios, measures, and tries remedies" />
        <SecondsChoice
          label="Search each for"
          seconds={seconds.value}
          of={[4, 8, 20, 60]}
          onSeconds={(value) => {
            seconds.value = value;
          }}
        />
      </header>
      <div class="scenarios">
        <article class={`card scenario base ${shownTrial ? "" : "is-shown"}`} aria-label="As it is">
          <h2>As it is</h2>
          <p class="small quiet">The timetable in force, {opened.value!.documents.settings.name}.</p>
          <DayFigures result={base} />
          <div class="move-do">
            <button
              type="button"
              class="btn slim"
              aria-pressed={!shownTrial}
              onClick={() => {
                shown.value = undefined;
              }}
            >
              How full
            </button>
          </div>
        </article>
        {scenarios.value.map((kept) => (
          <ScenarioCard
            key={kept.id}
            kept={kept}
            trial={trials.value.get(kept.id)}
            base={base}
            seconds={seconds.value}
            isShown={shown.value === kept.id && shownTrial !== undefined}
            onShow={() => {
              shown.value = kept.id;
            }}
          />
        ))}
        {mayPlan.value && <Starts />}
      </div>
      <RemediesCard seconds={seconds.value} />
      <HeadroomCard />
      <FullnessStrip plan={shownTrial ?? base} name={shownName ?? "As it is"} />
    </div>
  );
}
