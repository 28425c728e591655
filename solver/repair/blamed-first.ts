import { clearUnpinned, mixSomewhere } from "../search/construct.js";
import type { Draft } from "../search/draft.js";
import { settleLoads, settleMixes } from "../search/home.js";
import { urgency } from "../search/orders.js";
import { adoptPlan, copyPlan } from "../search/plan.js";
import { place } from "./place.js";

/** So many rounds at most: what they find they find in the first few. */
const ROUNDS = 24;

export interface BlamedFirstOptions {
  /** Loads that no plan makes: nobody is to blame for them. */
  readonly hopeless: ReadonlySet<number>;
  /** Asked before each round with how many there were: true ends them. */
  readonly isOver: (rounds: number) => boolean;
}

/**
 * What can be moved is put anew, round by round: loads that found no place in the rounds before, and their batches, come first and where they like, those with
 * the most failures first of all; the others come home as far as they still can, and what is left goes where it costs least. ("Squeaky wheel" optimization: Joslin
 * & Clements, Journal of Artificial Intelligence Research 10, 1999.) With a mixer out in the evening its batches and those that they are in the way of are dealt out
 * anew in a few rounds of a millisecond, for which force, load by load, takes some hundred. The best plan stands. Gives back how many rounds it took.
 */
export function blamedFirst(draft: Draft, { hopeless, isOver }: BlamedFirstOptions): number {
  const { model, state } = draft;
  state.leavePlentiful();
  const best = copyPlan(state);
  const urgent = urgency(draft);
  const failures = { loads: new Int32Array(model.loads.length), batches: new Int32Array(model.batches.length) };
  let rounds = 0;
  while (rounds < ROUNDS && blame(draft, hopeless, failures) && !isOver(rounds)) {
    rounds++;
    clearUnpinned(draft);
    mixAnew(draft, failures.batches, urgent.batches);
    putAnew(draft, failures.loads, urgent.loads);
    draft.tidy();
    if (state.cost < best.cost) copyPlan(state, best);
  }
  adoptPlan(state, best);
  draft.accept();
  return rounds;
}

/** One failure more for whatever is not made, and for its batch. False: all is made that can be. */
function blame(
  { model, state }: Draft,
  hopeless: ReadonlySet<number>,
  failures: { loads: Int32Array; batches: Int32Array },
): boolean {
  let isAny = false;
  for (let load = 0; load < model.loads.length; load++) {
    if (state.mode[load]! >= 0 || hopeless.has(load)) continue;
    isAny = true;
    failures.loads[load]!++;
    failures.batches[model.loads[load]!.batch]!++;
  }
  return isAny;
}

/** Numbers for which `isWanted`, most failures first, then the most urgent. */
function inOrder(failures: Int32Array, urgency: Float64Array, isWanted: (number: number) => boolean): number[] {
  const numbers: number[] = [];
  for (let number = 0; number < failures.length; number++) if (isWanted(number)) numbers.push(number);
  return numbers.sort((a, b) => failures[b]! - failures[a]! || urgency[a]! - urgency[b]! || a - b);
}

function mixAnew(draft: Draft, failures: Int32Array, urgency: Float64Array): void {
  const { mixOption } = draft.state;
  for (const batch of inOrder(failures, urgency, (batch) => failures[batch]! > 0 && mixOption[batch]! < 0))
    if (mixSomewhere(draft, batch)) draft.mix(batch);
  settleMixes(draft);
  for (const batch of inOrder(failures, urgency, (batch) => mixOption[batch]! < 0))
    if (mixSomewhere(draft, batch)) draft.mix(batch);
}

function putAnew(draft: Draft, failures: Int32Array, urgency: Float64Array): void {
  const { model, state } = draft;
  const { mode, mixOption } = state;
  for (const load of inOrder(failures, urgency, (load) => failures[load]! > 0 && mode[load]! < 0)) {
    const { batch, dropCost } = model.loads[load]!;
    if (mixOption[batch]! >= 0) draft.insert(load, dropCost);
    else draft.insertWithMix(load, dropCost);
  }
  const others: number[] = [];
  for (let load = 0; load < model.loads.length; load++) if (mode[load]! < 0 && failures[load] === 0) others.push(load);
  settleLoads(draft, others);
  for (const load of inOrder(failures, urgency, (load) => failures[load] === 0 && mode[load]! < 0)) place(draft, load);
}
