import { describe, expect, it } from "vitest";
import { SharedLog } from "../../../services/solving/shared-log.js";
import { createRng } from "../../../solver/rng.js";
import { construct } from "../../../solver/search/construct.js";
import { Draft } from "../../../solver/search/draft.js";
import { Together } from "../../../solver/search/together.js";
import { coreModel } from "../../bench/core/adapter.js";
import { heldOut } from "../../bench/core/generate.js";

const model = coreModel(heldOut("S", 1));

/** Two drafts with a first plan each. */
function pair(): [Draft, Draft] {
  const drafts: [Draft, Draft] = [new Draft(model, createRng(1)), new Draft(model, createRng(2))];
  for (const draft of drafts) {
    construct(draft);
    draft.accept();
  }
  return drafts;
}

/** Searches them together. The second comes in as the first one answers: in one thread that is beforehand. */
function join([a, b]: [Draft, Draft]): [Together, Together] {
  const memory = SharedLog.memory(1 << 14);
  const log = new SharedLog(memory);
  const first = new Together(a, () => new SharedLog(memory));
  first.at(0);
  const welcome = log.welcome.bind(log);
  log.welcome = () => {
    first.at(0);
    return welcome();
  };
  const second = new Together(b, () => log);
  second.at(0);
  first.catchUp();
  return [first, second];
}

function drop(draft: Draft, load: number): void {
  draft.removeLoad(load);
  draft.tidy();
}

describe("two searches of one plan", () => {
  it("do not leave a mix behind when each drops the load for which the other kept it", () => {
    const [a, b] = pair();
    const [first, second] = join([a, b]);
    const batch = model.batches.findIndex(({ loads }) => loads.filter((load) => a.state.mode[load]! >= 0).length > 1);
    const made = [...model.batches[batch]!.loads].filter((load) => a.state.mode[load]! >= 0);
    for (const load of made.slice(2)) drop(a, load);
    expect(first.agree()).toBe(true);
    a.accept();
    second.catchUp();
    drop(a, made[0]!);
    drop(b, made[1]!);
    expect(second.agree()).toBe(true);
    b.accept();
    expect(first.agree()).toBe(false);
    for (const { state } of [a, b]) {
      expect(state.placedOfBatch[batch]).toBe(1);
      expect(state.mixOption[batch]).toBeGreaterThanOrEqual(0);
    }
  });

  it("stand at the better of their plans", () => {
    const [a, b] = pair();
    const dropped = a.state.mode.findIndex((mode) => mode >= 0);
    drop(a, dropped);
    a.accept();
    const { cost } = b.state;
    join([a, b]);
    expect([a.state.cost, b.state.cost]).toEqual([cost, cost]);
    expect(a.state.mode[dropped]).toBe(b.state.mode[dropped]);
  });
});
