import type { RunProgress } from "../operations/operation.js";

const SPARSE_MS = 2000;

function line(progress: RunProgress): string {
  const time = `${((progress.elapsedMs ?? 0) / 1000).toFixed(1)} s`;
  const cost = progress.cost === undefined ? "" : `, cost ${progress.cost.toFixed(2)}`;
  const tries = progress.iterations ? `, ${progress.iterations} tries` : "";
  const bound = progress.bound === undefined ? "" : `, at best ${progress.bound.toFixed(2)}`;
  return `${progress.phase} (${time}${tries}${cost}${bound})`;
}

/** Writes progress to stderr: one line rewritten on a terminal, a line now and then elsewhere. */
export function progressWriter(stream: NodeJS.WriteStream): {
  report: (progress: RunProgress) => void;
  end: () => void;
} {
  if (stream.isTTY) {
    return {
      report: (progress) => stream.write(`\r\u001b[K${line(progress)}`),
      end: () => stream.write("\r\u001b[K"),
    };
  }
  let phase = "";
  let last = Number.NEGATIVE_INFINITY;
  return {
    report: (progress) => {
      if (progress.phase === phase && (progress.elapsedMs ?? 0) - last < SPARSE_MS) return;
      phase = progress.phase;
      last = progress.elapsedMs ?? 0;
      stream.write(`${line(progress)}\n`);
    },
    end: () => undefined,
  };
}
