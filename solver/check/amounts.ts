import { piecesPerPan } from "../geometry/index.js";
import type { Check } from "./context.js";

/** More loads take longer to lay out than anybody waits, and more than a timetable holds. */
const MOST_LOADS = 10_000;
const DEFAULT_MAX_PANS_PER_LOAD = 6;

/** What is ordered is not beyond all measure: full loads of each line, lines one by one. */
export const checkAmounts: Check = (day, findings) => {
  const { settings, catalogue, network, orders } = day;
  const perLoad = new Map<string, number>();
  for (const product of catalogue.products) {
    const panType = network.panTypes.find((type) => type.id === product.panType);
    const onPan = panType ? piecesPerPan(product, panType).count : 0;
    perLoad.set(product.id, onPan * (settings.maxPansPerLoad ?? DEFAULT_MAX_PANS_PER_LOAD));
  }
  let loads = 0;
  let largest = -1;
  let most = 0;
  orders.lines.forEach(({ product, pieces }, i) => {
    const full = Math.floor(pieces / (perLoad.get(product) || Number.POSITIVE_INFINITY));
    loads += full;
    if (full <= most) return;
    most = full;
    largest = i;
  });
  if (loads <= MOST_LOADS) return;
  const { id, pieces } = orders.lines[largest]!;
  findings.add(
    "too-many-loads",
    "orders",
    `/lines/${largest}/pieces`,
    `What is ordered makes ${loads} full loads; at most ${MOST_LOADS} are planned at once. Most are of ${id}: ${pieces} pieces, ${most} loads.`,
    "Correct its pieces, or raise maxPansPerLoad in the settings.",
  );
};
