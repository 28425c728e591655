import { type ChildProcess, spawn } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Redis } from "ioredis";
import { systemProgram } from "./apt.js";

export function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const probe = createServer();
    probe.on("error", reject);
    probe.listen(0, "127.0.0.1", () => {
      const { port } = probe.address() as { port: number };
      probe.close(() => resolve(port));
    });
  });
}

/** A real redis-server with an append-only file, that tests start, kill and start again. */
export class TestRedis {
  private child: ChildProcess | undefined;

  private constructor(
    readonly port: number,
    private readonly folder: string,
  ) {}

  static async start(): Promise<TestRedis> {
    const redis = new TestRedis(await freePort(), await mkdtemp(join(tmpdir(), "deckshelf-redis-")));
    await redis.up();
    return redis;
  }

  get url(): string {
    return `redis://127.0.0.1:${this.port}`;
  }

  /** Starts it on its data; resolves when it takes connections and has loaded them. */
  async up(): Promise<void> {
    const args = ["--port", String(this.port), "--bind", "127.0.0.1", "--dir", this.folder, "--save", ""];
    // A replica gets all of it at once, not after waiting for others.
    args.push("--repl-diskless-sync-delay", "0");
    const durable = ["--appendonly", "yes", "--appendfsync", "always", "--maxmemory-policy", "noeviction"];
    const child = spawn(systemProgram(["redis-server"], "redis-server"), [...args, ...durable], {
      stdio: ["ignore", "pipe", "pipe"],
    });
    this.child = child;
    await new Promise<void>((resolve, reject) => {
      let text = "";
      const read = (data: Buffer): void => {
        text += data.toString();
        if (text.includes("Ready to accept connections")) resolve();
      };
      child.stdout.on("data", read);
      child.stderr.on("data", read);
      child.once("exit", (code) => reject(new Error(`redis-server ended with ${code}: ${text}`)));
    });
  }

  /** Makes it a replica of what listens at a port of this machine; resolves once it has all that is there. */
  async follow(port: number): Promise<void> {
    await this.tell((redis) => redis.replicaof("127.0.0.1", port));
    for (let tries = 0; tries < 600; tries++) {
      const state = await this.tell((redis) => redis.info("replication"));
      if (/^master_link_status:up/m.test(state)) return;
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
    throw new Error("the replica does not come to follow");
  }

  /** Makes it the primary, with what it has. */
  async takeOver(): Promise<void> {
    await this.tell((redis) => redis.replicaof("NO", "ONE"));
  }

  private async tell<T>(what: (redis: Redis) => Promise<T>): Promise<T> {
    const redis = new Redis(this.url, { maxRetriesPerRequest: 3 });
    redis.on("error", () => undefined);
    try {
      return await what(redis);
    } finally {
      redis.disconnect();
    }
  }

  /** kill -9. */
  async kill(): Promise<void> {
    const child = this.child;
    this.child = undefined;
    if (!child || child.exitCode !== null) return;
    const ended = new Promise((resolve) => child.once("exit", resolve));
    child.kill("SIGKILL");
    await ended;
  }

  async remove(): Promise<void> {
    await this.kill();
    await rm(this.folder, { recursive: true, force: true });
  }
}
