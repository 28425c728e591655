import { type Profiler, Session } from "node:inspector";
import { table } from "./table.js";

/** Own time of one function, ms. */
export interface ProfileLine {
  readonly name: string;
  readonly file: string;
  readonly ms: number;
}

const INTERVAL_US = 500;

function shortName(url: string): string {
  if (url === "") return "(engine)";
  return url.replace(/^.*\/dist\//, "").replace(/^.*\/node_modules\//, "node_modules/");
}

function ownTimes({ nodes, samples, timeDeltas }: Profiler.Profile): ProfileLine[] {
  const byNode = new Map<number, number>();
  samples?.forEach((node, i) => {
    byNode.set(node, (byNode.get(node) ?? 0) + Math.max(0, timeDeltas![i]!));
  });
  const lines = new Map<string, { name: string; file: string; us: number }>();
  for (const { id, callFrame } of nodes) {
    const { functionName, url, lineNumber } = callFrame;
    const file = shortName(url);
    const name = functionName === "" ? `(line ${lineNumber + 1})` : functionName;
    // "dispatch" is the profiler itself.
    if (name === "(idle)" || name === "(program)" || name === "(root)" || name === "dispatch") continue;
    const line = lines.get(`${name} ${file}`) ?? { name, file, us: 0 };
    line.us += byNode.get(id) ?? 0;
    lines.set(`${name} ${file}`, line);
  }
  return [...lines.values()].map(({ name, file, us }) => ({ name, file, ms: us / 1000 })).sort((a, b) => b.ms - a.ms);
}

/** Runs something that does not wait, with V8's sampling profiler on in this thread, and says where its time went. */
export function profiled<R>(work: () => R): { result: R; lines: ProfileLine[] } {
  const session = new Session();
  session.connect();
  session.post("Profiler.enable");
  session.post("Profiler.setSamplingInterval", { interval: INTERVAL_US });
  session.post("Profiler.start");
  const result = work();
  let lines: ProfileLine[] = [];
  // In its own thread a session answers before post returns.
  session.post("Profiler.stop", (error, answer) => {
    if (error) throw error;
    lines = ownTimes(answer.profile);
  });
  session.disconnect();
  return { result, lines };
}

/** Adds up profiles of several runs. */
export function summed(profiles: readonly (readonly ProfileLine[])[]): ProfileLine[] {
  const lines = new Map<string, ProfileLine>();
  for (const line of profiles.flat()) {
    const key = `${line.name} ${line.file}`;
    lines.set(key, { ...line, ms: line.ms + (lines.get(key)?.ms ?? 0) });
  }
  return [...lines.values()].sort((a, b) => b.ms - a.ms);
}

/** The functions with the most own time, and the files. */
export function profileTable(lines: readonly ProfileLine[], top = 15): string {
  const total = lines.reduce((sum, { ms }) => sum + ms, 0);
  const share = (ms: number): string => ((100 * ms) / total).toFixed(1);
  const files = summed([lines.map((line) => ({ ...line, name: "" }))]).slice(0, top);
  return `${table(
    ["function", "own ms", "%", "file"],
    lines.slice(0, top).map(({ name, file, ms }) => [name, ms.toFixed(0), share(ms), file]),
  )}\n${table(
    ["file", "own ms", "%"],
    files.map(({ file, ms }) => [file, ms.toFixed(0), share(ms)]),
  )}`;
}
