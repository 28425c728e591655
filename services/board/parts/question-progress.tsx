import type { Question } from "../data/question.js";
import { mayPlan } from "../data/session.js";
import { Faults } from "./faults.js";

function sentence(phase: string): string {
  return phase.charAt(0).toUpperCase() + phase.slice(1);
}

/** How a long question goes, with a button that ends it and keeps what was found; or what went wrong with it. */
export function QuestionProgress<T, R extends { readonly seconds: number }>({
  question,
  name,
}: {
  question: Question<T, R>;
  name: string;
}) {
  const { state } = question;
  if (state?.trouble) return <Faults error={state.trouble} />;
  if (!state || !question.isRunning) return null;
  const elapsed = Math.min(state.seconds, (state.news?.elapsedMs ?? 0) / 1000);
  return (
    <div class="asking">
      <progress max={state.seconds} value={elapsed} aria-label={name} />
      <span class="asking-phase small" role="status">
        {state.isStopping ? "Stopping, what was found is kept" : sentence(state.news?.phase ?? "waiting for its turn")}
      </span>
      <span class="small quiet">
        {elapsed.toFixed(0)} of {state.seconds} s
      </span>
      <button
        type="button"
        class="btn slim"
        disabled={state.isStopping || !mayPlan.value}
        onClick={() => void question.stop()}
      >
        Stop and keep
      </button>
    </div>
  );
}
