/** What a bench's seconds are: the wall's, or the processor's, which a busy machine does not stretch. */
export type ClockKind = "wall" | "cpu";

/** Milliseconds. The processor's time is the whole process's, shared among the threads that search at once; their helpers (compiler, collector) count too. */
export function clockOf(kind: ClockKind, threads: number): () => number {
  if (kind === "wall") return () => performance.now();
  return () => {
    const { user, system } = process.cpuUsage();
    return (user + system) / 1000 / threads;
  };
}

export function secondsText(kind: ClockKind): string {
  return kind === "wall" ? "seconds by the wall clock" : "seconds of processor time";
}
