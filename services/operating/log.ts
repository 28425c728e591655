import { type Logger, pino } from "pino";

export type { Logger } from "pino";

/**
 * One JSON object a line on stderr (stdout is for people). No bodies, no headers, no query strings: so no secrets, and nothing of customers.
 */
export function createLog(level: string, name: string): Logger {
  return pino(
    { level, base: { name, pid: process.pid }, timestamp: pino.stdTimeFunctions.isoTime },
    pino.destination({ fd: 2, sync: true }),
  );
}
