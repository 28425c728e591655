import { operation } from "./operation.js";

const STEP_MS = 20;

/**
 * Does nothing for so long, as a solver would that waits for nobody: for measuring queue and workers without the solver. Known only with
 * DECKSHELF_IDLE=on.
 */
export const idle = operation<{ milliseconds: number; parts?: number; reports?: number }, { milliseconds: number }>({
  name: "idle",
  summary: "do nothing for so long",
  about: "For measuring the queue and its workers.",
  isLong: true,
  request: {
    type: "object",
    additionalProperties: false,
    required: ["milliseconds"],
    properties: {
      milliseconds: { type: "number", minimum: 0, maximum: 600_000 },
      parts: { type: "integer", minimum: 1, maximum: 64 },
      reports: { type: "integer", minimum: 0, maximum: 1000, description: "Progress reports a step." },
    },
  },
  response: { type: "object", required: ["milliseconds"], properties: { milliseconds: { type: "number" } } },
  run: async (_day, { milliseconds, reports = 0 }, { now, onProgress, shouldStop }) => {
    const until = now() + milliseconds;
    for (let left = milliseconds; left > 0 && !shouldStop(); left = until - now()) {
      await new Promise((resolve) => setTimeout(resolve, Math.min(STEP_MS, left)));
      for (let i = 0; i < reports; i++) onProgress({ phase: `idle ${"·".repeat(500)}`, elapsedMs: now() });
    }
    return { milliseconds };
  },
  split: (_day, { parts = 1, ...request }) => Array.from({ length: parts }, () => request),
  gather: (_day, _request, responses) => responses[0]!,
});
