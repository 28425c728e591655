import { known, referenceText } from "../../support/reference.js";
import type { Job, Shop } from "./shop.js";

/** One published instance as a shop, with what is known of it. */
export interface Published {
  readonly name: string;
  readonly shop: Shop;
  readonly best: number;
  readonly isProven: boolean;
}

export interface PublishedSet {
  readonly name: string;
  /** Whose numbers, and how the set is meant here. */
  readonly note: string;
  readonly read: () => Published[];
}

const WIDE = 1_000_000;

function numbers(line: string): number[] {
  return line.trim().split(/\s+/).map(Number);
}

function linesOf(set: string, file: string): number[][] {
  return referenceText(set, file)
    .split(/\r?\n/)
    .filter((line) => line.trim() !== "" && !line.startsWith("#"))
    .map(numbers);
}

/** Every job through all machines in order. */
function flowJob(times: readonly number[], due?: number): Job {
  const operations = times.map((minutes, machine) => [{ machine, minutes }]);
  return due === undefined ? { operations } : { operations, due };
}

function rows(set: string, of: (row: Record<string, string>) => Published[]): Published[] {
  return known(set).flatMap(of);
}

const isOptimal = (row: Record<string, string>): boolean => row.status === "optimal";

function hybrid(row: Record<string, string>): Published[] {
  const [, , machines, ...times] = linesOf("hybrid_flowshop_pan2017", row.instance!);
  const firsts = machines!.map((_, s) => machines!.slice(0, s).reduce((sum, count) => sum + count, 0));
  const jobs = times.map((job) => ({
    operations: job.map((minutes, stage) =>
      Array.from({ length: machines![stage]! }, (_, m) => ({ machine: firsts[stage]! + m, minutes })),
    ),
  }));
  const shop = { machines: machines!.reduce((sum, count) => sum + count, 0), jobs, greatestWait: WIDE };
  return [{ name: row.instance!, shop, best: Number(row.best_known), isProven: isOptimal(row) }];
}

function derived(row: Record<string, string>): Published[] {
  const data = JSON.parse(referenceText("hybrid_flowshop_derived", row.instance!)) as {
    machines_per_stage: number[];
    processing_times: number[][];
    max_wait: number;
  };
  const counts = data.machines_per_stage;
  const firsts = counts.map((_, s) => counts.slice(0, s).reduce((sum, count) => sum + count, 0));
  const jobs = data.processing_times.map((job) => ({
    operations: job.map((minutes, stage) =>
      Array.from({ length: counts[stage]! }, (_, m) => ({ machine: firsts[stage]! + m, minutes })),
    ),
  }));
  const machines = counts.reduce((sum, count) => sum + count, 0);
  const waits: readonly (readonly [string, number, string | undefined])[] = [
    ["any wait", WIDE, row.optimum_unlimited_wait],
    [`waits to ${data.max_wait}`, data.max_wait, row.optimum_with_max_wait],
    ["no wait", 0, row.optimum_no_wait],
  ];
  return waits.map(([name, greatestWait, optimum]) => ({
    name: `${row.instance} ${name}`,
    shop: { machines, jobs, greatestWait },
    best: Number(optimum),
    isProven: true,
  }));
}

function setups(row: Record<string, string>): Published[] {
  const [[jobCount], [machines], ...rest] = linesOf("sdst_flowshop_ruiz", row.instance!) as [number[], number[]];
  const lines = rest as number[][];
  const n = jobCount!;
  const jobs = lines.slice(0, n).map((times) => flowJob(times));
  const matrices = Array.from({ length: machines! }, (_, m) => lines.slice(n + m * n, n + (m + 1) * n));
  const shop = { machines: machines!, jobs, greatestWait: WIDE, setups: matrices };
  return [{ name: `${row.instance} ${row.level}`, shop, best: Number(row.best_known), isProven: isOptimal(row) }];
}

function tardiness(row: Record<string, string>): Published[] {
  const [, [machines], dues, ...times] = linesOf("tardiness_flowshop_vallada", row.instance!) as number[][] as [
    number[],
    number[],
    number[],
  ];
  const jobs = (times as number[][]).map((job, j) => flowJob(job, dues[j]!));
  const shop = { machines: machines!, jobs, greatestWait: WIDE };
  return [{ name: row.instance!, shop, best: Number(row.best_known_total_tardiness), isProven: isOptimal(row) }];
}

function noWait(row: Record<string, string>): Published[] {
  const [, , ...times] = linesOf("nowait_flowshop_taillard", row.instance!);
  const jobs = times.map((job) => flowJob(job));
  const shop = { machines: Number(row.machines), jobs, greatestWait: 0 };
  return [{ name: row.taillard_name!, shop, best: Number(row.optimum), isProven: true }];
}

function distributed(row: Record<string, string>): Published[] {
  const [[, machines], [sites], ...pairs] = linesOf("distributed_flowshop", row.instance!) as [number[], number[]];
  const jobs = (pairs as number[][]).map((line) => flowJob(line.filter((_, i) => i % 2 === 1)));
  const shop = { machines: machines!, jobs, greatestWait: WIDE, sites: sites! };
  return [{ name: row.instance!, shop, best: Number(row.upper_bound), isProven: true }];
}

function flexible(row: Record<string, string>): Published[] {
  const [[, machines], ...lines] = linesOf("flexible_jobshop", row.instance!) as [number[]];
  const jobs = (lines as number[][]).map((line) => {
    let at = 1;
    const operations = Array.from({ length: line[0]! }, () => {
      const count = line[at++]!;
      return Array.from({ length: count }, () => ({ machine: line[at++]! - 1, minutes: line[at++]! }));
    });
    return { operations };
  });
  const shop = { machines: machines!, jobs, greatestWait: WIDE };
  return [{ name: row.instance!, shop, best: Number(row.upper_bound), isProven: row.status === "closed" }];
}

function classic(row: Record<string, string>): Published[] {
  const [[, machines], ...lines] = linesOf("blocking_jobshop", row.instance!) as [number[]];
  const jobs = (lines as number[][]).map((line) => ({
    operations: Array.from({ length: machines! }, (_, k) => [{ machine: line[2 * k]!, minutes: line[2 * k + 1]! }]),
  }));
  const shop = { machines: machines!, jobs, greatestWait: WIDE };
  return [{ name: row.instance!, shop, best: Number(row.classic_jobshop_optimum), isProven: true }];
}

/** Sets that the search's model expresses. In permutation sets machines may here differ in order, so a value below the best known is possible. */
export const SETS: readonly PublishedSet[] = [
  {
    name: "hybrid_flowshop_pan2017",
    note: "makespan; Pan, Ruiz & Alfaro-Fernandez 2017; exactly expressed",
    read: () => rows("hybrid_flowshop_pan2017", hybrid),
  },
  {
    name: "hybrid_flowshop_derived",
    note: "makespan; the folder's own cuts of the above; exactly expressed",
    read: () => rows("hybrid_flowshop_derived", derived),
  },
  {
    name: "sdst_flowshop_ruiz",
    note: "makespan with set-ups; Ruiz & Stuetzle; permutation set; set-ups are kept between all pairs of jobs, not only neighbours",
    read: () => rows("sdst_flowshop_ruiz", setups),
  },
  {
    name: "tardiness_flowshop_vallada",
    note: "total tardiness; Vallada, Ruiz & Minella; permutation set",
    read: () => rows("tardiness_flowshop_vallada", tardiness),
  },
  {
    name: "nowait_flowshop_taillard",
    note: "makespan without waits; Taillard; exactly expressed up to 11 machines",
    read: () => rows("nowait_flowshop_taillard", noWait),
  },
  {
    name: "distributed_flowshop",
    note: "makespan over sites; Naderi & Ruiz; permutation set",
    read: () => rows("distributed_flowshop", distributed),
  },
  {
    name: "flexible_jobshop",
    note: "makespan; Fattahi, Kacem, Brandimarte; exactly expressed",
    read: () => rows("flexible_jobshop", flexible),
  },
  {
    name: "blocking_jobshop",
    note: "makespan of the classic job shop (the blocking one is not expressed); exactly expressed",
    read: () => rows("blocking_jobshop", classic),
  },
];

/** Sets that it does not, and why. */
export const NOT_EXPRESSED: readonly (readonly [set: string, why: string])[] = [
  ["rcpsp_max, rcpsp_j30", "activities with any number of predecessors and lags between any two; a load is a chain"],
  ["rcpsp_reservoir", "the same, and stocks that one activity fills and another empties"],
  [
    "batch_machine",
    "the jobs of one run start together and last as long as the longest; loads join a deck when they like",
  ],
  ["blocking_jobshop, blocking", "a job keeps its machine until the next is free; here an operation's length is fixed"],
];
