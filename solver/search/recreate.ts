import type { Draft } from "./draft.js";
import { goHome, mixAtHome } from "./home.js";
import type { MixAim } from "./mixing.js";

const AIMS: readonly MixAim[] = ["latest", "latest", "anywhere", "opening"];

/**
 * Puts every waiting load back where it costs least, one after another, in an order drawn at random from four kinds. False: the
 * change costs more than will be kept, and is left half done.
 */
export function recreate(draft: Draft): boolean {
  const { rng, waiting, state } = draft;
  const { choice } = draft.inserter;
  sortWaiting(draft);
  // Loads still waiting count nothing: putting them down can only add to what there is.
  let pending = 0;
  for (const load of waiting) if (state.mode[load]! < 0) pending += draft.shortShare * state.dropCost[load]!;
  // Ties: all early, all late, or each by chance.
  const ties = rng.below(3);
  choice.prefersLate = ties === 1;
  choice.firstAlternative = rng.below(2) === 0 ? 0 : rng.below(64);
  let isAffordable = true;
  for (const load of waiting) {
    // A move may have put one of them itself.
    if (state.mode[load]! >= 0) continue;
    const shortCost = draft.shortShare * state.dropCost[load]!;
    const room = draft.limit - (draft.energy - pending);
    pending -= shortCost;
    if (ties === 2) choice.prefersLate = rng.below(2) === 0;
    isAffordable = room > 0 && (put(draft, load, room) || shortCost < room);
    if (!isAffordable) break;
  }
  choice.barredHeater = -1;
  if (isAffordable) draft.tidy();
  return isAffordable;
}

/** Puts one load, and mixes its batch if need be, for less than `room`; false when that cannot be. */
function put(draft: Draft, load: number, room: number): boolean {
  const { rng, state, model } = draft;
  const { choice } = draft.inserter;
  const { batch } = model.loads[load]!;
  const below = Math.min(state.dropCost[load]!, room);
  const { home } = model.batches[batch]!;
  if (state.mixOption[batch]! < 0 && home && rng.below(4) > 0) mixAtHome(draft, batch);
  // The place in the plan in force costs no move; now and then another is looked for, so that others can have it.
  if (home && state.mixOption[batch]! >= 0 && rng.below(4) > 0 && goHome(draft, load)) return true;
  if (state.mixOption[batch]! < 0) {
    // A mix chosen for one load suits it alone; a batch of many had better be mixed for all.
    const isAlone = model.batches[batch]!.loads.length === 1;
    if ((isAlone ? rng.below(10) > 0 : rng.below(10) === 0) && draft.insertWithMix(load, below)) return true;
    if (!draft.mixes.pick(batch, AIMS[rng.below(AIMS.length)]!, rng)) return false;
    draft.mix(batch);
  }
  const blinked = blink(draft, load);
  const modes = someModes(draft, load);
  if (draft.insert(load, below, modes)) return true;
  if (!blinked && modes === -1 && choice.barredHeater < 0) return false;
  // Once more with nothing held back.
  const { barredHeater } = choice;
  choice.barredHeater = -1;
  const isPut = draft.insert(load, below);
  choice.barredHeater = barredHeater;
  return isPut;
}

/**
 * Now and then the best place is passed over: some heaters are not looked at, or the load may not start where it did.
 * Always taking the best place leaves plans unreachable that need a second best (the "blinks" of Christiaens & Vanden Berghe,
 * "Slack induction by string removals", 2020).
 */
function blink(draft: Draft, load: number): boolean {
  const { rng } = draft;
  const { choice } = draft.inserter;
  const ticket = rng.below(16);
  if (ticket < 2) choice.passedOver = rng.uint32() & rng.uint32();
  else if (ticket < 4) choice.barredStart = draft.anchorBefore(load);
  return ticket < 4;
}

/** Loads with more modes than this try a random half of them, and the one that they were made in before. */
const FEW_MODES = 3;

function someModes(draft: Draft, load: number): number {
  const count = draft.model.loads[load]!.modes.length;
  if (count <= FEW_MODES || count > 31) return -1;
  const before = draft.modeBefore(load);
  return draft.rng.uint32() | (before >= 0 ? 1 << before : 0);
}

/** Due time alone is clearly worse than mixed orders. */
function sortWaiting(draft: Draft): void {
  const { rng, waiting, state, bounds } = draft;
  for (let i = waiting.length - 1; i > 0; i--) {
    const j = rng.below(i + 1);
    const swapped = waiting[i]!;
    waiting[i] = waiting[j]!;
    waiting[j] = swapped;
  }
  const kind = rng.below(4);
  if (kind === 0) return;
  const key = (load: number): number => {
    if (kind === 1) return bounds.of(load)[0]!.zoneTo;
    if (kind === 2) return -state.dropCost[load]!;
    return bounds.of(load)[0]!.leastAfter * -1000 + bounds.of(load)[0]!.zoneTo;
  };
  // Stable: loads that are alike stay shuffled.
  waiting.sort((a, b) => key(a) - key(b));
}
