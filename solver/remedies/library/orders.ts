import { linesAsTold } from "../../problem/told.js";
import type { RemedyMaker } from "../candidate.js";

const LATER_MINUTES = 45;

/** Lines of usual priority for the site that are due when the station is fullest, delivered later; lines fixed to the site set free. */
export const orders: RemedyMaker = (want, { day, prices }) => {
  const lines = linesAsTold(day);
  const fixed = lines.filter((line) => line.madeAt === want.site && line.site !== want.site).map(({ id }) => id);
  const free =
    fixed.length === 0
      ? []
      : [{ family: "fixed sites", changes: [{ kind: "bake-at" as const, of: { lines: fixed } }], cost: 0 }];
  if (want.kind !== "deck-positions" && want.kind !== "kettle" && want.kind !== "crew") return free;
  const usual = lines.filter((line) => line.site === want.site && (line.priority ?? 1) <= 1);
  const dues = [...new Set(usual.map(({ due }) => due))].sort();
  const first = usual.filter(({ due }) => dues.slice(0, Math.ceil(dues.length / 2)).includes(due)).map(({ id }) => id);
  if (first.length === 0) return free;
  return [
    ...free,
    {
      family: `later ${want.site}`,
      changes: [{ kind: "move-due", of: { lines: first }, minutesLater: LATER_MINUTES }],
      cost: first.length * prices.changedDue,
    },
  ];
};
