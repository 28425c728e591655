/** What a bench's seconds are: the wall's, or the processor's, which a busy machine does not stretch. */
export type ClockKind = "wall" | "cpu";

/** By default the processor's time is read anew at most so often: a search that asks at every 16th try spent a sixth of its time asking. */
const READ_EVERY_MS = 5;

/** Milliseconds. The processor's time is the whole process's, shared among the threads that search at once; their helpers (compiler, collector) count too. */
export function clockOf(kind: ClockKind, threads: number, readEveryMs = READ_EVERY_MS): () => number {
  if (kind === "wall") return () => performance.now();
  let readAt = Number.NEGATIVE_INFINITY;
  let cpuMs = 0;
  return () => {
    const wallMs = performance.now();
    if (wallMs - readAt < readEveryMs) return cpuMs;
    readAt = wallMs;
    const { user, system } = process.cpuUsage();
    cpuMs = (user + system) / 1000 / threads;
    return cpuMs;
  };
}

export function secondsText(kind: ClockKind): string {
  return kind === "wall" ? "seconds by the wall clock" : "seconds of processor time";
}
