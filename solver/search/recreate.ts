import type { Draft } from "./draft.js";
import type { MixAim } from "./mixing.js";

const AIMS: readonly MixAim[] = ["latest", "latest", "anywhere", "opening"];

/** Puts every waiting load back where it costs least, one after another, in an order drawn at random from four kinds. */
export function recreate(draft: Draft): void {
  const { rng, waiting, state, model } = draft;
  sortWaiting(draft);
  for (const load of waiting) {
    const { batch } = model.loads[load]!;
    if (state.mixOption[batch]! < 0) {
      if (!draft.mixes.pick(batch, AIMS[rng.below(AIMS.length)]!, rng)) continue;
      draft.mix(batch);
    }
    draft.insert(load);
  }
  draft.tidy();
}

/** Due time alone is clearly worse than mixed orders. */
function sortWaiting(draft: Draft): void {
  const { rng, waiting, model, bounds } = draft;
  const kind = rng.below(4);
  if (kind === 0) {
    for (let i = waiting.length - 1; i > 0; i--) {
      const j = rng.below(i + 1);
      const swapped = waiting[i]!;
      waiting[i] = waiting[j]!;
      waiting[j] = swapped;
    }
    return;
  }
  const key = (load: number): number => {
    if (kind === 1) return bounds[load]![0]!.zoneTo;
    if (kind === 2) return -model.loads[load]!.dropCost;
    return bounds[load]![0]!.leastAfter * -1000 + bounds[load]![0]!.zoneTo;
  };
  waiting.sort((a, b) => key(a) - key(b) || a - b);
}
