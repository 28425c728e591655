import type { DayDocuments } from "../../schemas/index.js";
import { readDayFolder } from "../../services/day-folder.js";
import { table } from "../../services/text/table.js";
import { createLp, createSmallEngine, headroom, loadHighs } from "../../solver/index.js";
import { balanceFlows } from "../../solver/network/balance.js";
import { boundMultiple } from "../../solver/network/multiple.js";
import { indexDay } from "../../solver/problem/day-index.js";
import { type ClockKind, clockOf, secondsText } from "./clock.js";
import { disagreementTable } from "./disagreement.js";

/** The demo's network with so many more shops, each like one of its own, with its van runs and the orders of that shop. */
function widened(day: DayDocuments, sites: number): DayDocuments {
  const [home, ...shops] = day.network.sites;
  const network = { ...day.network, sites: [...day.network.sites], vanRuns: [...day.network.vanRuns] };
  const lines = [...day.orders.lines];
  for (let n = day.network.sites.length; n < sites; n++) {
    const like = shops[n % shops.length]!;
    const id = `${like.id}-${n}`;
    network.sites.push({ ...like, id, name: `${like.name} ${n}` });
    for (const run of day.network.vanRuns)
      if (run.to === like.id && run.from === home!.id) network.vanRuns.push({ ...run, id: `${run.id}-${n}`, to: id });
    for (const line of day.orders.lines)
      if (line.site === like.id)
        lines.push({ ...line, id: `${line.id}-${n}`, site: id, pieces: Math.ceil(line.pieces / 6) });
  }
  return { ...day, network, orders: { ...day.orders, lines } };
}

/** Sizes and times of the network program, and how near headroom comes in its time: one process, one thread. */
export async function benchNetwork(seconds: number, clock: ClockKind): Promise<void> {
  const now = clockOf(clock, 1);
  const lp = createLp(createSmallEngine(now), await loadHighs());
  const demo = async (name: string): Promise<DayDocuments> => {
    const read = await readDayFolder(`services/demo/${name}`);
    if ("issues" in read) throw new Error(JSON.stringify(read.issues));
    return read.day;
  };
  const ordinary = await demo("ordinary-day");
  const spike = await demo("holiday-spike");
  const days: [string, DayDocuments][] = [
    ["ordinary day, 3 sites", ordinary],
    ["holiday spike, 3 sites", spike],
    ["as ordinary, 12 sites", widened(ordinary, 12)],
  ];
  // Once unmeasured: most of a first solve is compiling.
  balanceFlows(indexDay(ordinary), { lp });
  const rows = [["day", "lines", "flows", "balance s", "first limit s", "limit s", "not above"]];
  for (const [name, day] of days) {
    let at = now();
    const { program } = balanceFlows(indexDay(day), { lp });
    const balanceS = (now() - at) / 1000;
    at = now();
    let first = 0;
    const bound = boundMultiple(indexDay(day), {
      lp,
      most: 4,
      onBound: () => {
        if (first === 0) first = (now() - at) / 1000;
      },
    });
    rows.push([
      name,
      String(day.orders.lines.length),
      String(program.columns.length),
      balanceS.toFixed(2),
      first.toFixed(2),
      ((now() - at) / 1000).toFixed(2),
      `x ${bound.multiple.toFixed(3)}`,
    ]);
  }
  process.stdout.write(`${secondsText(clock)}\n\n${table(rows, [1, 2, 3, 4, 5, 6]).join("\n")}\n\n`);
  const found = [["headroom", "seconds", "first verdict s", "fits", "not above", "interval %", "trials"]];
  for (const [name, day] of days.slice(0, 2)) {
    const answer = headroom(day, { seconds, to: 4 }, { lp, now });
    const fits = answer.fitsAt ?? 0;
    found.push([
      name,
      answer.seconds.all.toFixed(1),
      answer.seconds.firstVerdict.toFixed(2),
      `x ${fits.toFixed(2)}`,
      `x ${answer.certainlyNotAbove.toFixed(3)}`,
      ((100 * (answer.certainlyNotAbove - fits)) / answer.certainlyNotAbove).toFixed(1),
      String(answer.trials.length),
    ]);
  }
  process.stdout.write(`${table(found, [1, 2, 3, 4, 5, 6]).join("\n")}\n\n${disagreementTable(lp)}`);
}
