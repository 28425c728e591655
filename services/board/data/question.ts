import { signal } from "@preact/signals";
import { opened } from "../state.js";
import { type Listener, type Run, run } from "./jobs.js";
import { BoardError, type DrawNews } from "./types.js";

export interface Asked<T> {
  /** The day that was asked about, and its state then. */
  readonly day: string;
  readonly change: number;
  readonly seconds: number;
  readonly isStopping: boolean;
  readonly news?: DrawNews;
  readonly answer?: T;
  readonly trouble?: BoardError;
}

/** Something long that is asked about the open day: goes on while other pages are looked at, can be stopped, keeps its answer. */
export class Question<T, R extends { readonly seconds: number } = { readonly seconds: number }> {
  private readonly asked = signal<Asked<T> | undefined>(undefined);
  private run: Run<T> | undefined;

  constructor(private readonly operation: string) {}

  /** Of the open day only. */
  get state(): Asked<T> | undefined {
    const asked = this.asked.value;
    return asked && asked.day === opened.value?.id ? asked : undefined;
  }

  get isRunning(): boolean {
    const { state } = this;
    return state !== undefined && state.answer === undefined && state.trouble === undefined;
  }

  /** Whether the day is another one than when it was asked. */
  get isOld(): boolean {
    const { state } = this;
    return state !== undefined && state.change !== opened.value?.record.change;
  }

  async ask(request: R, listener: Listener = {}): Promise<void> {
    const day = opened.value;
    if (!day || this.isRunning) return;
    const begun: Asked<T> = {
      day: day.id,
      change: day.record.change,
      seconds: request.seconds,
      isStopping: false,
    };
    this.asked.value = begun;
    // Another day may be open, and asked about, before the answer is there.
    const set = (more: Partial<Asked<T>>): void => {
      if (this.asked.value?.day === begun.day) this.asked.value = { ...this.asked.value, ...more };
    };
    let own: Run<T> | undefined;
    try {
      own = await run<T>(day.id, this.operation, request, {
        ...listener,
        onNews: (news) => {
          set({ news });
          listener.onNews?.(news);
        },
      });
      this.run = own;
      set({ answer: await own.done });
    } catch (error) {
      set({ trouble: error instanceof BoardError ? error : new BoardError((error as Error).message) });
    } finally {
      if (this.run === own) this.run = undefined;
    }
  }

  async stop(): Promise<void> {
    const { value } = this.asked;
    if (!value || !this.run) return;
    this.asked.value = { ...value, isStopping: true };
    await this.run.stop();
  }
}
