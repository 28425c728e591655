import type { RemedyMaker } from "../candidate.js";

function earlier(time: string, minutes: number): string {
  const at = (Number(time.slice(0, 2)) * 60 + Number(time.slice(3)) - minutes + 1440) % 1440;
  return `${String(Math.floor(at / 60)).padStart(2, "0")}:${String(at % 60).padStart(2, "0")}`;
}

const CHILLED_EARLIER = 120;
const USUAL_EARLIER = 45;

/** An extra run: chilled and early when fridges are full, so that dough waits at the shops; before the usual one when ovens are. */
export const vans: RemedyMaker = (want, { day }) => {
  const isCold = want.kind === "fridge-positions";
  const isBusy = want.kind === "deck-positions" || want.kind === "kettle" || want.kind === "van";
  if (!isCold && !isBusy) return [];
  const runs = day.network.vanRuns.filter((run) => run.from === want.site && (!isCold || run.chilled));
  const perSite = new Map(runs.map((run) => [run.to, run]).reverse() as [string, (typeof runs)[number]][]);
  return [...perSite.values()].map((run) => ({
    family: `run ${run.id}`,
    changes: [
      { kind: "another-run", like: run.id, departs: earlier(run.departs, isCold ? CHILLED_EARLIER : USUAL_EARLIER) },
    ],
    cost: run.cost,
  }));
};
