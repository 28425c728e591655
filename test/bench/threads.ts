import { once } from "node:events";
import { Worker } from "node:worker_threads";

/** Warm threads of one program that answers each task with one message, and says one when it is ready. */
export class Threads<Task, Run> {
  private constructor(private readonly workers: readonly Worker[]) {}

  static async start<Task, Run>(program: URL, count: number): Promise<Threads<Task, Run>> {
    const workers = Array.from({ length: count }, () => new Worker(program));
    await Promise.all(workers.map((worker) => once(worker, "message")));
    return new Threads(workers);
  }

  /** A task for each thread, side by side. */
  async run(taskFor: (thread: number) => Task): Promise<Run[]> {
    const runs = this.workers.map((worker, i) => {
      worker.postMessage(taskFor(i));
      return once(worker, "message") as Promise<[Run]>;
    });
    return (await Promise.all(runs)).map(([run]) => run);
  }

  async end(): Promise<void> {
    await Promise.all(this.workers.map((worker) => worker.terminate()));
  }
}
