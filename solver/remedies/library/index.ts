import type { Candidate, MakerContext, RemedyMaker, Want } from "../candidate.js";
import { dough } from "./dough.js";
import { fridges } from "./fridges.js";
import { orders } from "./orders.js";
import { people } from "./people.js";
import { stations } from "./stations.js";
import { stocks } from "./stocks.js";
import { vans } from "./vans.js";

const MAKERS: readonly RemedyMaker[] = [fridges, people, stations, stocks, vans, orders, dough];

/** Changes that ease what is wanting, each once, those for the most pressing want first. */
export function candidatesFor(wants: readonly Want[], context: MakerContext): Candidate[] {
  const found = new Map<string, Candidate>();
  for (const want of wants) {
    for (const make of MAKERS) {
      for (const candidate of make(want, context)) {
        const key = JSON.stringify(candidate.changes);
        if (!found.has(key)) found.set(key, candidate);
      }
    }
  }
  return [...found.values()];
}
