import { availableParallelism } from "node:os";
import { join } from "node:path";
import { isLoopbackAddress } from "../api/loopback.js";
import { packageRoot } from "../package-root.js";
import type { Keep } from "./retention.js";

/** A setting from the environment is not what it must be. */
export class ConfigError extends Error {}

/** Everything that the environment decides. The README lists the names. */
export interface Config {
  readonly host: string;
  readonly port: number;
  /** PORT was given, so no other will do. */
  readonly isPortFixed: boolean;
  readonly dataFolder: string;
  readonly redisUrl: string | undefined;
  /** Replicas of Redis that must have a commit before it is answered. */
  readonly redisReplicas: number;
  /** Solver threads of this process. */
  readonly threads: number;
  /** Parts that a big run is split into. */
  readonly lanes: number;
  readonly bodyLimitBytes: number;
  readonly needsLogin: boolean;
  readonly logLevel: string;
  readonly metricsPort: number | undefined;
  readonly drainSeconds: number;
  /** A worker that gave no sign for so long has lost its job. */
  readonly leaseSeconds: number;
  /** Requests that one token, or one address without a token, may send in ten seconds. */
  readonly requestsPer10s: number;
  readonly isBehindProxy: boolean;
  /** How long what is over is kept. */
  readonly keep: Keep;
}

const DEFAULT_PORT = 8710;
const MOST_LANES = 2;
const LEVELS = ["trace", "debug", "info", "warn", "error", "silent"];

function whole(env: NodeJS.ProcessEnv, name: string, otherwise: number, least: number, most: number): number {
  const text = env[name];
  if (text === undefined || text === "") return otherwise;
  const value = Number(text);
  if (Number.isInteger(value) && value >= least && value <= most) return value;
  throw new ConfigError(`${name} must be a whole number from ${least} to ${most}, not "${text}".`);
}

export function readConfig(env: NodeJS.ProcessEnv = process.env): Config {
  const host = env.HOST ?? "127.0.0.1";
  const cores = availableParallelism();
  const threads = whole(env, "DECKSHELF_THREADS", cores, 1, 256);
  const logLevel = env.DECKSHELF_LOG ?? "warn";
  if (!LEVELS.includes(logLevel)) throw new ConfigError(`DECKSHELF_LOG must be one of ${LEVELS.join(", ")}.`);
  const isPortFixed = env.PORT !== undefined && env.PORT !== "";
  return {
    host,
    port: whole(env, "PORT", DEFAULT_PORT, 0, 65_535),
    isPortFixed,
    dataFolder: env.DECKSHELF_DATA ?? join(packageRoot(), ".deckshelf"),
    redisUrl: env.REDIS_URL === "" ? undefined : env.REDIS_URL,
    redisReplicas: whole(env, "DECKSHELF_REDIS_REPLICAS", 0, 0, 16),
    threads,
    lanes: whole(env, "DECKSHELF_LANES", Math.min(MOST_LANES, threads), 1, 64),
    bodyLimitBytes: whole(env, "DECKSHELF_BODY_MB", 16, 1, 64) * 1024 * 1024,
    needsLogin: env.DECKSHELF_LOGIN === "on" || !isLoopbackAddress(host),
    logLevel,
    metricsPort: env.METRICS_PORT ? whole(env, "METRICS_PORT", 0, 0, 65_535) : undefined,
    leaseSeconds: whole(env, "DECKSHELF_LEASE_SECONDS", 10, 1, 3600),
    drainSeconds: whole(env, "DECKSHELF_DRAIN_SECONDS", 25, 0, 3600),
    requestsPer10s: whole(env, "DECKSHELF_REQUESTS_PER_10S", 1000, 1, 1_000_000),
    keep: {
      days: whole(env, "DECKSHELF_KEEP_DAYS", 90, 0, 36_500),
      versions: whole(env, "DECKSHELF_KEEP_VERSIONS", 20, 2, 1_000_000),
      auditDays: whole(env, "DECKSHELF_KEEP_AUDIT_DAYS", 400, 0, 36_500),
    },
    isBehindProxy: env.DECKSHELF_PROXY === "on",
  };
}
