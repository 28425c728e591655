import { type ChildProcess, spawn } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
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
