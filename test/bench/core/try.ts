import { readFileSync } from "node:fs";
import { coreModel, coreSolution } from "./adapter.js";
import { checkCore } from "./checker.js";
import { Draft } from "../../../solver/search/draft.js";
import { construct } from "../../../solver/search/construct.js";
import { anneal } from "../../../solver/search/anneal.js";
import { createRng } from "./tmp-rng.js";
import { copyPlan, rebuild } from "../../../solver/search/state.js";
const [,, name, secs, seed, hot, cold, share] = process.argv;
const inst = JSON.parse(readFileSync(`/work/shared/reference/data/core/${name}.json`, "utf8"));
const model = coreModel(inst);
for (let rep=0; rep<2; rep++) {
const d = new Draft(model, createRng(Number(seed ?? 1)));
const t0 = performance.now();
construct(d);
const t1 = performance.now();
console.log(name, "first", d.state.cost, "short", d.state.shortCost, (t1-t0).toFixed(1)+"ms", checkCore(inst, coreSolution(inst, model, copyPlan(d.state))).slice(0,5));
if (rep===0) continue;
const limit = Number(secs ?? 1)*1000;
const r = anneal(d, { progress: () => (performance.now()-t1)/limit, hot: Number(hot ?? 1), cold: Number(cold ?? 0.01), shortShare: Number(share ?? 0.25)});
console.log(name, "best", r.best.cost, "iters", r.iterations, checkCore(inst, coreSolution(inst, model, r.best)).slice(0,5));
const s = rebuild(model, r.best);
console.log("rebuilt", s.cost, "short", s.shortCost, "late", s.lateCost, "early", s.earlyCost, "heat", s.heaters.cost);
}
