import { parseArgs } from "node:util";
import { benchBoard } from "./board.js";
import { benchCore } from "./core/bench.js";
import { benchBounds } from "./core/bound-bench.js";
import { benchDays } from "./days/bench.js";
import { benchDemo } from "./days/demo.js";
import { benchHighs } from "./highs/bench.js";
import { benchNetwork } from "./network.js";
import { benchPublished } from "./published/bench.js";
import { benchRepair } from "./repair/bench.js";

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: {
    instances: { type: "string" },
    seconds: { type: "string" },
    seeds: { type: "string" },
    sizes: { type: "string" },
    sets: { type: "string" },
    "held-out": { type: "boolean", default: false },
    out: { type: "string" },
    profile: { type: "boolean", default: false },
    cpu: { type: "boolean", default: false },
    apart: { type: "boolean", default: false },
    step: { type: "string", default: "10" },
    long: { type: "string", default: "20" },
    instants: { type: "string", default: "0.15,0.5,0.7,0.85" },
    outages: { type: "string", default: "deck,mixer,shelf,person" },
    lanes: { type: "string", default: "1" },
  },
});

function numbers(text: string | undefined, otherwise: string): number[] {
  return (text ?? otherwise).split(",").map(Number);
}

const clock = values.cpu ? "cpu" : "wall";

function instances(): string {
  if (values.instances !== undefined) return values.instances;
  throw new Error("--instances DIR is needed");
}

interface Bench {
  readonly usage: string;
  readonly run: () => Promise<number>;
}

const BENCHES: Readonly<Record<string, Bench>> = {
  core: {
    usage: `core [--instances DIR] [--held-out] [--seconds 1,5] [--seeds 1,2,3] [--out DIR] [--profile] [--apart]
  Searches every core instance (SPEC.md of the reference set) in DIR for each number of seconds and each seed, checks every
  solution against the specification, prints a table of medians and their ratios to known.csv, and with --out writes one
  solution file per instance and time (the median seed's). --held-out adds instances drawn by the same recipe, compared with the
  search's own result in 60 s. --profile prints where time goes. Two threads search large instances together; with --apart they do not.`,
    run: () =>
      benchCore({
        folder: values["held-out"] ? values.instances : instances(),
        heldOutSeconds: values["held-out"] ? 60 : undefined,
        seconds: numbers(values.seconds, "1,5"),
        seeds: numbers(values.seeds, "1,2,3"),
        out: values.out,
        isProfiled: values.profile,
        clock,
        isApart: values.apart,
      }),
  },
  bound: {
    usage: `bound [--instances DIR] [--held-out] [--step 10] [--seconds 60]
  Prints a proven lower bound of every core instance, with the gap to the best cost known. The seconds are those of the search (a seventh,
  6 at most) and the bound together, one after the other. --held-out adds instances drawn by the same recipe.`,
    run: async () => {
      await benchBounds({
        folder: values["held-out"] ? values.instances : instances(),
        withHeldOut: values["held-out"],
        stepMinutes: Number(values.step),
        seconds: Number(values.seconds ?? 60),
      });
      return 0;
    },
  },
  days: {
    usage: `days [--sizes 50,200,600,2000] [--seconds 1,5,30] [--seeds 1,2,3] [--out DIR] [--profile]
  Draws up generated whole days of several sites, one thread a run: a table of costs, and how time to quality grows with the
  size; with --out also as days.txt and growth.svg. A seed is both the day's and the search's. --profile prints where time goes.`,
    run: () =>
      benchDays({
        sizes: numbers(values.sizes, "50,200,600,2000"),
        seconds: numbers(values.seconds, "1,5,30"),
        seeds: numbers(values.seeds, "1,2,3"),
        out: values.out,
        isProfiled: values.profile,
        clock,
      }),
  },
  board: {
    usage: `board [--sizes 250,600]
  Shows generated whole days in a real Chromium: how long until the picture after the data, and the longest task while zooming and panning.`,
    run: () => benchBoard(numbers(values.sizes, "250,600")),
  },
  network: {
    usage: `network [--seconds 20] [--cpu]
  Sizes and times of the network program on the demo's days and on twelve sites, how near headroom comes in its seconds,
  and how often the program allows what the search does not find on random days.`,
    run: async () => {
      await benchNetwork(Number(values.seconds ?? 20), clock);
      return 0;
    },
  },
  demo: {
    usage: `demo [--seconds 1,5,30] [--seeds 1,2,3] [--profile]
  Draws up the demo's days in the same way.`,
    run: () =>
      benchDemo(numbers(values.seconds, "1,5,30"), numbers(values.seeds, "1,2,3"), {
        isProfiled: values.profile,
        clock,
      }),
  },
  published: {
    usage: `published [--sets A,B] [--seconds 5] [--seeds 1,2,3]
  Gaps to the best known values of published scheduling sets (the folder of DECKSHELF_REFERENCE), and which sets the search's
  model cannot express and why.`,
    run: async () => {
      benchPublished(values.sets?.split(",") ?? [], Number(values.seconds ?? 5), numbers(values.seeds, "1,2,3"), clock);
      return 0;
    },
  },
  repair: {
    usage: `repair [--sizes 0,60,200,600] [--seconds 0.3,3] [--long 20] [--seeds 1] [--instants 0.15,0.5,0.7,0.85]
         [--outages deck,mixer,shelf,person] [--lanes 1] [--apart]
  Mornings of the demo's day (size 0) and of generated days: the busiest deck, mixer, shelf or a person of the busiest group is out for
  150 min, at each instant (a share of the plan's time). Time to the first conflict-free repair in a warm thread; loads kept, moved tasks
  and the cost of late and short pieces at each budget, against a long one. With --lanes so many threads search together, with --apart each by itself; the best is taken.`,
    run: () =>
      benchRepair({
        sizes: numbers(values.sizes, "0,60,200,600"),
        seconds: numbers(values.seconds, "0.3,3"),
        long: Number(values.long),
        seed: numbers(values.seeds, "1")[0]!,
        instants: numbers(values.instants, "0.15,0.5,0.7,0.85"),
        outages: values.outages.split(","),
        lanes: Number(values.lanes),
        clock,
      }),
  },
  highs: {
    usage: `highs [--seconds 60]
  Tiny models searched for 1 s against the same models as time-indexed integer programs in HiGHS: time to equal cost.`,
    run: () => benchHighs(Number(values.seconds ?? 60), 1, clock),
  },
  load: {
    usage: `load [--seconds 10]
  Reads and writes on a server of its own with autocannon, idle and while its cores solve: rates, p50, p99, errors.`,
    run: async () => {
      const { benchLoad } = await import("./services/load.js");
      await benchLoad(Number(values.seconds ?? 10));
      return 0;
    },
  },
  workers: {
    usage: `workers [--sizes 1,2,4,8,16,32,64]
  Needs redis-server. Drawings on one and two worker processes; then one job of 64 parts on so many workers whose solvers sleep:
  what the queue costs, and how it grows.`,
    run: async () => {
      process.env.DECKSHELF_IDLE = "on";
      const { benchWorkers } = await import("./services/workers.js");
      await benchWorkers(numbers(values.sizes, "1,2,4,8,16,32,64"));
      return 0;
    },
  },
};

const bench = BENCHES[positionals[0] ?? ""];
if (bench) process.exitCode = await bench.run();
else {
  const usages = Object.values(BENCHES).map(({ usage }) => usage);
  process.stderr.write(
    `npm run bench -- BENCH [options]; with --cpu seconds are processor time, for a busy machine\n\n${usages.join("\n\n")}\n`,
  );
  process.exitCode = 2;
}
