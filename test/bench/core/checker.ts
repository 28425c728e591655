import type { CoreInstance, CoreLoad, CoreSolution } from "./format.js";

/** Checks a solution against the specification, by itself, and re-adds the objective. Returns what is wrong. */
export function checkCore(instance: CoreInstance, solution: CoreSolution): string[] {
  const wrong: string[] = [];
  const { horizon } = instance;
  const use = (size = horizon): Int32Array => new Int32Array(size);
  const crew = use();
  const shelf = use();
  const proof = use();
  const cool = use();
  const add = (line: Int32Array, from: number, to: number, amount: number, what: string): void => {
    if (from < 0 || to > horizon) wrong.push(`${what} outside the horizon`);
    for (let t = Math.max(0, from); t < Math.min(horizon, to); t++) line[t] = line[t]! + amount;
  };
  const outages = (unit: string) => instance.outages.filter((outage) => outage.unit === unit);
  const clear = (unit: string, from: number, to: number, what: string): void => {
    for (const outage of outages(unit)) if (from < outage.to && outage.from < to) wrong.push(`${what} in an outage`);
  };
  const mixerUse = new Map(instance.mixers.map((mixer) => [mixer.id, use()]));
  const kettleUse = new Map(instance.kettles.map((kettle) => [kettle.id, use()]));
  const onDeck = new Map<string, { load: CoreLoad; from: number; to: number }[]>();
  const mixEnd = new Map<string, number>();
  for (const batch of instance.batches) {
    const placed = solution.batches[batch.id];
    const kept = instance.loads.some((load) => load.batch === batch.id && solution.loads[load.id]);
    if (!placed) {
      if (kept) wrong.push(`${batch.id} is not mixed`);
      continue;
    }
    if (!kept) wrong.push(`${batch.id} is mixed for nothing`);
    const mixer = instance.mixers.find((m) => m.id === placed.mixer)!;
    if (batch.kg > mixer.maxKg) wrong.push(`${batch.id} is too big for its mixer`);
    const end = placed.start + batch.mixMin;
    mixEnd.set(batch.id, end);
    add(mixerUse.get(mixer.id)!, placed.start, end, 1, batch.id);
    add(crew, placed.start, end, 1, batch.id);
    clear(mixer.id, placed.start, end, batch.id);
  }
  let objective = 0;
  for (const load of instance.loads) {
    const at = solution.loads[load.id];
    if (at === undefined) wrong.push(`${load.id} is missing`);
    if (!at) {
      objective += 100 * load.weight * 600;
      continue;
    }
    const batch = instance.batches.find((b) => b.id === load.batch)!;
    const mixed = mixEnd.get(batch.id)!;
    const between = (value: number, least: number, greatest: number, what: string): void => {
      if (!Number.isInteger(value) || value < least || value > greatest) wrong.push(`${load.id}: ${what} ${value}`);
    };
    between(at.temper - mixed, batch.retardMin, batch.retardMax, "retard");
    add(shelf, mixed, at.temper, load.tubs, load.id);
    between(at.shape - at.temper - load.temperMin, 0, 20, "wait before shaping");
    const shaped = at.shape + load.shapeMin;
    add(crew, at.shape, shaped, 1, load.id);
    const proofed = load.boil ? at.boil! : at.bake;
    between(proofed - shaped, load.proofMin, load.proofMax, "proof");
    add(proof, shaped, proofed, load.pans, load.id);
    if (load.boil) {
      const kettle = instance.kettles.find((k) => k.id === at.kettle)!;
      const minutes = Math.ceil((Math.ceil(load.pieces / kettle.piecesPerDip) * kettle.cycleSec) / 60);
      add(kettleUse.get(kettle.id)!, at.boil!, at.boil! + minutes, 1, load.id);
      add(crew, at.boil!, at.boil! + minutes, 1, load.id);
      clear(kettle.id, at.boil!, at.boil! + minutes, load.id);
      between(at.bake - at.boil! - minutes, 0, load.boilToBakeMax, "boil to bake");
    }
    const baked = at.bake + load.bakeMin + 2;
    clear(at.deck, at.bake, baked, load.id);
    onDeck.set(at.deck, [...(onDeck.get(at.deck) ?? []), { load, from: at.bake, to: baked }]);
    const ready = baked + load.coolMin;
    add(cool, baked, ready, load.pans, load.id);
    objective += 100 * load.weight * Math.max(0, ready - load.due) + Math.max(0, load.due - ready - 90);
  }
  const heads = use();
  for (const window of instance.crew) heads.fill(window.heads, window.from, window.to);
  const within = (line: Int32Array, limit: (t: number) => number, what: string): void => {
    for (let t = 0; t < horizon; t++) {
      if (line[t]! > limit(t)) {
        wrong.push(`${what}: ${line[t]} at ${t}, limit ${limit(t)}`);
        return;
      }
    }
  };
  within(crew, (t) => heads[t]!, "crew");
  within(shelf, () => instance.shelfTubs, "shelf");
  within(proof, () => instance.proofPans, "proof");
  within(cool, () => instance.coolPans, "cool");
  for (const [id, line] of mixerUse) within(line, () => 1, `mixer ${id}`);
  for (const [id, line] of kettleUse) within(line, () => 1, `kettle ${id}`);
  for (const deck of instance.decks) {
    const loads = (onDeck.get(deck.id) ?? []).sort((a, b) => a.from - b.from);
    if (loads.length === 0) continue;
    const line = use();
    for (const { load, from, to } of loads) add(line, from, to, load.pans, load.id);
    within(line, () => deck.pans, `deck ${deck.id}`);
    const on = loads[0]!.from - deck.coldStartMin;
    if (on < 0) wrong.push(`deck ${deck.id} preheats before the horizon`);
    clear(deck.id, on, loads[0]!.from, `preheat of ${deck.id}`);
    for (const a of loads) {
      for (const b of loads) {
        if (a.load.bakeC === b.load.bakeC || a.from > b.from) continue;
        const rise = b.load.bakeC - a.load.bakeC;
        const change = Math.ceil(Math.abs(rise) / (rise > 0 ? deck.upCPerMin : deck.downCPerMin) - 1e-9);
        if (b.from < a.to + change) wrong.push(`deck ${deck.id}: ${a.load.id} then ${b.load.id} too soon`);
      }
    }
    objective += 2 * (Math.max(...loads.map((load) => load.to)) - on);
  }
  if (Math.abs(objective - solution.objective) > 1e-6)
    wrong.push(`objective is ${objective}, not ${solution.objective}`);
  return wrong;
}
