import type { Rng } from "../rng.js";
import type { Companion } from "./anneal.js";
import { MAX_OPERATIONS, MAX_TAKES, type SearchModel } from "./model.js";
import { copyPlan, type PlanCopy, type State } from "./state.js";

/** Bytes of shared memory with which `searches` searches of a model can see each other. */
export function bytesShared(model: SearchModel, searches: number): number {
  return searches * slotBytes(model);
}

function slotBytes(model: SearchModel): number {
  const words = 3 * model.batches.length + model.loads.length * (3 + MAX_OPERATIONS + MAX_TAKES * 4);
  const bytes = 24 + 4 * words + model.loads.length * MAX_OPERATIONS;
  return Math.ceil(bytes / 8) * 8;
}

/** One search's plan in shared memory; the version is odd while it is being written. */
class Slot {
  readonly plan: PlanCopy;
  readonly version: Int32Array;
  readonly numbers: Float64Array;

  constructor(model: SearchModel, memory: ArrayBufferLike, index: number) {
    const loads = model.loads.length;
    const batches = model.batches.length;
    let at = index * slotBytes(model);
    this.version = new Int32Array(memory, at, 1);
    this.numbers = new Float64Array(memory, at + 8, 2);
    at += 24;
    const ints = (count: number): Int32Array => {
      const array = new Int32Array(memory, at, count);
      at += 4 * count;
      return array;
    };
    this.plan = {
      cost: 0,
      mixOption: ints(batches),
      mixStart: ints(batches),
      mixCrew: ints(batches),
      mode: ints(loads),
      start: ints(loads * MAX_OPERATIONS),
      finish: ints(loads),
      takeCount: ints(loads),
      takes: ints(loads * MAX_TAKES * 4),
      alternative: new Int8Array(memory, at, loads * MAX_OPERATIONS),
    };
  }

  /** Energy of the plan shown; not a number when none has been. */
  get energy(): number {
    return Atomics.load(this.version, 0) === 0 ? Number.NaN : this.numbers[0]!;
  }

  write(energy: number, state: State): void {
    Atomics.add(this.version, 0, 1);
    copyPlan(state, this.plan);
    this.numbers[0] = energy;
    Atomics.add(this.version, 0, 1);
  }

  /** Copies the plan; false when it was being written meanwhile. */
  read(into: PlanCopy): boolean {
    const version = Atomics.load(this.version, 0);
    if (version % 2 === 1) return false;
    const { plan } = this;
    into.mixOption.set(plan.mixOption);
    into.mixStart.set(plan.mixStart);
    into.mixCrew.set(plan.mixCrew);
    into.mode.set(plan.mode);
    into.start.set(plan.start);
    into.alternative.set(plan.alternative);
    into.finish.set(plan.finish);
    into.takes.set(plan.takes);
    into.takeCount.set(plan.takeCount);
    return Atomics.load(this.version, 0) === version;
  }
}

/**
 * Searches side by side in threads that share memory: each shows its plan now and then, and one that is clearly behind another
 * goes on from the other's plan. So most of the time is spent where the better plans are.
 */
export function companionOf(
  model: SearchModel,
  memory: ArrayBufferLike,
  index: number,
  searches: number,
  rng: Rng,
): Companion {
  const slots = Array.from({ length: searches }, (_, i) => new Slot(model, memory, i));
  let copy: PlanCopy | null = null;
  return {
    exchange(energy, state, temperature) {
      slots[index]!.write(energy, state);
      let best = -1;
      // As in annealing: what is a little better is taken only sometimes.
      let below = energy + temperature * Math.log(1 - rng.unit());
      slots.forEach((slot, i) => {
        if (i === index || !(slot.energy < below)) return;
        best = i;
        below = slot.energy;
      });
      if (best < 0) return null;
      copy ??= copyPlan(state);
      return slots[best]!.read(copy) ? copy : null;
    },
  };
}
