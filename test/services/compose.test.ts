import { execFile, execFileSync } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { parse } from "yaml";
import { randomDay } from "../days/random-day.js";
import { systemProgram } from "../support/apt.js";
import { build } from "../support/built.js";
import { freePort } from "../support/redis.js";
import { type RunningProcess, readEvents, startProgram } from "../support/server.js";

/**
 * docker-compose.yml without an engine: its own commands, settings and health checks run as plain processes. Only what an engine gives is put in: addresses of other
 * services, free ports, folders in the place of volumes. Not tested: images, networks, volumes and restarts.
 */
interface Service {
  readonly command: string;
  readonly environment?: Readonly<Record<string, string>>;
  readonly healthcheck?: { readonly test: readonly [string, ...string[]] };
  readonly depends_on?: Readonly<Record<string, { readonly condition: string }>>;
  readonly volumes?: readonly string[];
  readonly configs?: readonly { readonly source: string; readonly target: string }[];
  readonly ports?: readonly string[];
}
interface Compose {
  readonly services: Readonly<Record<string, Service>>;
  readonly configs: Readonly<Record<string, { readonly file: string }>>;
  readonly volumes: Readonly<Record<string, unknown>>;
}

let compose: Compose;
let folder: string;
const running: RunningProcess[] = [];
const ports = { redis: 0, api: 0, worker: 0, gate: 0 };

/** Addresses between services become this machine's. */
const local = (text: string): string =>
  text
    .replaceAll("redis://redis:6379", `redis://127.0.0.1:${ports.redis}`)
    .replaceAll("8710", String(ports.api))
    .replaceAll("9710", String(ports.worker));
const env = (service: Service): Record<string, string> =>
  Object.fromEntries(Object.entries(service.environment ?? {}).map(([name, value]) => [name, local(value)]));

/** The exit code of a health check, as an engine would run it. */
function health({ healthcheck }: Service, more: readonly string[] = []): Promise<number> {
  const [kind, program, ...args] = healthcheck!.test;
  expect(kind).toBe("CMD");
  return new Promise((done) => {
    execFile(program!, [...more, ...args.map(local)], (error) => done(error ? Number(error.code ?? 1) : 0));
  });
}

async function healthy(service: Service, more?: readonly string[]): Promise<void> {
  for (let tries = 0; (await health(service, more)) !== 0; tries++) {
    if (tries > 100) throw new Error(`not healthy:\n${running.map((one) => one.output()).join("\n")}`);
    await new Promise((wait) => setTimeout(wait, 100));
  }
}

function start(service: Service, more: readonly string[] = []): RunningProcess {
  const [program, ...args] = [...service.command.split(" "), ...more];
  const empty = args.map((arg) => (arg === '""' ? "" : arg));
  const started = startProgram(program!, empty, env(service));
  running.push(started);
  return started;
}

beforeAll(async () => {
  build();
  folder = await mkdtemp(join(tmpdir(), "deckshelf-compose-"));
  compose = parse(await readFile("docker-compose.yml", "utf8"), { merge: true }) as Compose;
  for (const name of ["redis", "api", "worker", "gate"] as const) ports[name] = await freePort();
  systemProgram(["redis-server"], "redis-server");
}, 180_000);
afterAll(async () => {
  for (const { child, ended } of running.reverse()) {
    child.kill("SIGTERM");
    await ended;
  }
  await rm(folder, { recursive: true, force: true });
}, 60_000);

describe("docker-compose.yml", { timeout: 120_000 }, () => {
  it("speaks only of what is there", () => {
    const { services, configs, volumes } = compose;
    for (const [name, { depends_on = {}, volumes: mounts = [], configs: used = [] }] of Object.entries(services)) {
      for (const [other, { condition }] of Object.entries(depends_on)) {
        expect(services, name).toHaveProperty(other);
        if (condition === "service_healthy") expect(services[other]!.healthcheck, other).toBeDefined();
      }
      for (const mount of mounts) {
        const [from] = mount.split(":") as [string];
        if (from !== ".") expect(volumes, mount).toHaveProperty(from);
      }
      for (const { source } of used) expect(existsSync(configs[source]!.file), source).toBe(true);
    }
  });

  it("sets only what the program reads; the README names every setting that it reads, and no other", async () => {
    const sources = await Promise.all(
      (await readdir("services", { recursive: true }))
        .filter((path) => path.endsWith(".ts") && !path.startsWith("board"))
        .map((path) => readFile(join("services", path), "utf8")),
    );
    const names = (text: string): Set<string> =>
      new Set(text.match(/\b(DECKSHELF_[A-Z0-9_]+|REDIS_URL|METRICS_PORT|HOST|PORT)\b/g));
    const read = names(sources.join("\n"));
    for (const [name, { environment = {} }] of Object.entries(compose.services))
      for (const setting of Object.keys(environment)) expect(read, name).toContain(setting);
    const told = names(await readFile("README.md", "utf8"));
    // For tests, benches and whoever looks for a fault; the demo days are the compose file's own.
    const own = ["DECKSHELF_DEBUG", "DECKSHELF_IDLE", "DECKSHELF_DEMO", "DECKSHELF_ONCE"];
    expect([...read].filter((setting) => !told.has(setting) && !own.includes(setting))).toEqual([]);
    expect([...told].filter((setting) => !read.has(setting))).toEqual([]);
  });

  it("copies the sources that the others are built from, and nothing that is made", async () => {
    const [source, app] = [resolve("."), join(folder, "app")];
    await mkdir(app);
    const [, script] = /^sh -c "(.*)"$/.exec(compose.services.build!.command)!;
    const [copy, install] = script!.split(/ && (?=npm ci$)/);
    expect(install).toBe("npm ci");
    execFileSync("sh", ["-c", copy!.replaceAll("/source", source).replaceAll("/app", app)]);
    for (const file of ["package.json", "package-lock.json", "tsconfig.json", "services/start.ts"])
      expect(existsSync(join(app, file)), file).toBe(true);
    for (const made of ["node_modules", "dist", ".git"]) expect(existsSync(join(app, made)), made).toBe(false);
    const { scripts } = JSON.parse(await readFile(join(app, "package.json"), "utf8")) as {
      scripts: { prepare: string };
    };
    // npm ci builds.
    expect(scripts.prepare).toContain("build");
  });

  it("runs: Redis, a server, a worker, each well by its own health check; a token made as it says lets in, and a job is done", async () => {
    const { redis, api, worker } = compose.services as Record<string, Service>;
    start(redis!, ["--port", String(ports.redis), "--dir", folder]);
    expect(redis!.command).toMatch(/appendonly yes .*appendfsync always .*noeviction/);
    await healthy(redis!, ["-p", String(ports.redis)]);
    expect(await health(api!)).toBe(1);
    start(api!);
    await healthy(api!);
    expect(await health(worker!)).toBe(1);
    start(worker!);
    await healthy(worker!);

    const said = await readFile("docker-compose.yml", "utf8");
    const [, make] = /docker compose run --rm api (node .*)$/m.exec(said)!;
    const [program, ...args] = make!.split(" ");
    const token = execFileSync(program!, args, { env: { ...process.env, ...env(api!) }, encoding: "utf8" }).trim();
    const url = `http://127.0.0.1:${ports.api}`;
    expect((await fetch(`${url}/api/days`)).status).toBe(401);
    const headers = { Authorization: `Bearer ${token}`, "Content-Type": "application/json" };
    const days = (await (await fetch(`${url}/api/days`, { headers })).json()) as { days: unknown[] };
    expect(days.days).toHaveLength(2);
    const { inForce: _, ...documents } = randomDay(3, "tiny");
    const body = JSON.stringify({ documents, request: { iterations: 5 } });
    const accepted = await fetch(`${url}/api/draw`, { method: "POST", headers, body });
    expect(accepted.status).toBe(202);
    const { id } = (await accepted.json()) as { id: string };
    const events = await readEvents(`${url}/api/jobs/${id}/events`, undefined, {
      Authorization: headers.Authorization,
    });
    expect(events.at(-1)!.data).toMatchObject({ state: "done" });
  });

  it("the gate in front, a real nginx with its own configuration, passes on requests, streams and whole addresses", async () => {
    const nginx = systemProgram(["nginx"], "nginx-light");
    const { source } = compose.services.gate!.configs![0]!;
    const own = await readFile(compose.configs[source]!.file, "utf8");
    // An engine answers names by its own resolver.
    const here = own
      .replace("listen 8710;", `listen 127.0.0.1:${ports.gate};`)
      .replace(/resolver [^;]*;/, "")
      .replace("set $api api;", "set $api 127.0.0.1;")
      .replace(":8710;", `:${ports.api};`);
    expect(here).not.toBe(own);
    const file = join(folder, "nginx.conf");
    const paths = ["client_body", "proxy", "fastcgi", "uwsgi", "scgi"].map(
      (kind) => `${kind}_temp_path ${folder}/${kind};`,
    );
    await writeFile(
      file,
      `${process.getuid?.() === 0 ? "user root;\n" : ""}error_log stderr;\npid ${folder}/nginx.pid;\nevents {}\nhttp {\naccess_log off;\n${paths.join("\n")}\n${here}}\n`,
    );
    execFileSync(nginx, ["-t", "-q", "-c", file], { stdio: "pipe" });
    running.push(startProgram(nginx, ["-c", file, "-g", "daemon off;"]));
    const url = `http://127.0.0.1:${ports.gate}`;
    for (let tries = 0; tries < 100; tries++) {
      if ((await fetch(`${url}/health/ready`).catch(() => undefined))?.ok) break;
      await new Promise((wait) => setTimeout(wait, 50));
    }
    expect((await fetch(`${url}/health/ready`)).status).toBe(200);
    expect((await fetch(`${url}/api/days?x=1`)).status).toBe(401);
    const big = await fetch(`${url}/api/draw`, { method: "POST", body: "x".repeat(3_000_000) });
    expect(big.status).toBe(401);
    expect(compose.services.gate!.ports).toEqual(["127.0.0.1:8710:8710"]);
  });
});
