import { type ChildProcess, spawn } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";

/** A process of the product, started as a user would start it. */
export interface RunningProcess {
  readonly child: ChildProcess;
  readonly output: () => string;
  /** Resolves with the match once the output has it; rejects when the process ends before. */
  readonly until: (pattern: RegExp) => Promise<RegExpMatchArray>;
  readonly ended: Promise<number | null>;
}

/** Whatever a failed test left behind ends with the tests. */
const running = new Set<ChildProcess>();
process.on("exit", () => {
  for (const child of running) child.kill("SIGKILL");
});

/** Runs dist or a script with node. */
export function startProcess(args: readonly string[], env: NodeJS.ProcessEnv = {}): RunningProcess {
  return startProgram("node", args, env);
}

export function startProgram(program: string, args: readonly string[], env: NodeJS.ProcessEnv = {}): RunningProcess {
  const child = spawn(program, [...args], { env: { ...process.env, ...env }, stdio: ["ignore", "pipe", "pipe"] });
  running.add(child);
  child.on("exit", () => running.delete(child));
  let text = "";
  const listeners = new Set<() => void>();
  const add = (data: Buffer): void => {
    text += data.toString();
    for (const listener of listeners) listener();
  };
  child.stdout.on("data", add);
  child.stderr.on("data", add);
  const ended = new Promise<number | null>((resolve) => child.on("close", resolve));
  return {
    child,
    output: () => text,
    ended,
    until: (pattern) =>
      new Promise((resolve, reject) => {
        const look = (): void => {
          const match = text.match(pattern);
          if (!match) return;
          listeners.delete(look);
          resolve(match);
        };
        listeners.add(look);
        void ended.then((code) => reject(new Error(`ended with ${code} before ${pattern}:\n${text}`)));
        look();
      }),
  };
}

export interface TestServer extends RunningProcess {
  readonly url: string;
  readonly dataFolder: string;
  /** Ends it as Ctrl-C does, and removes its data unless they are kept. */
  readonly stop: (keepData?: boolean) => Promise<number | null>;
}

/** The embedded server on a free port, with data of its own. The demo is loaded; it is drawn only when asked for. */
export async function startServer(
  options: { dataFolder?: string; args?: readonly string[]; env?: NodeJS.ProcessEnv } = {},
): Promise<TestServer> {
  const dataFolder = options.dataFolder ?? (await mkdtemp(join(tmpdir(), "deckshelf-data-")));
  const running = startProcess(["dist/services/start.js", ...(options.args ?? ["--no-draw"])], {
    DECKSHELF_DATA: dataFolder,
    PORT: "0",
    ...options.env,
  });
  const [, url] = await running.until(/Deck & Shelf: (http:\S+)/);
  return {
    ...running,
    url: url!,
    dataFolder,
    stop: async (keepData = false) => {
      running.child.kill("SIGINT");
      const code = await running.ended;
      if (!keepData) await rm(dataFolder, { recursive: true, force: true });
      return code;
    },
  };
}

/** One server-sent event. */
export interface ServerEvent {
  readonly name: string;
  readonly data: unknown;
}

/** Reads an event stream until it ends or `enough` says so. */
export async function readEvents(
  url: string,
  enough: (event: ServerEvent) => boolean = () => false,
  headers: Record<string, string> = {},
): Promise<ServerEvent[]> {
  const controller = new AbortController();
  const response = await fetch(url, {
    headers: { Accept: "text/event-stream", ...headers },
    signal: controller.signal,
  });
  if (!response.ok) throw new Error(`${response.status} ${await response.text()}`);
  const events: ServerEvent[] = [];
  let rest = "";
  const decoder = new TextDecoder();
  for await (const chunk of response.body as unknown as AsyncIterable<Uint8Array>) {
    rest += decoder.decode(chunk, { stream: true });
    const parts = rest.split("\n\n");
    rest = parts.pop()!;
    for (const part of parts) {
      const name = /^event: (.*)$/m.exec(part)?.[1];
      const data = /^data: (.*)$/m.exec(part)?.[1];
      if (name === undefined || data === undefined) continue;
      const event = { name, data: JSON.parse(data) as unknown };
      events.push(event);
      if (enough(event)) {
        setImmediate(() => controller.abort());
        return events;
      }
    }
  }
  return events;
}
