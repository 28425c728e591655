/** Marks that wait to be sent. They are kept in order, sent one by one, and never dropped silently. */
export interface Waiting<T> {
  /** Sent along, so that the server does a mark once however often it comes. */
  readonly key: string;
  readonly at: string;
  readonly what: T;
  /** The server did not want it; a person has to decide. */
  readonly refusal?: string;
}

export type Sent =
  | { readonly is: "taken" }
  | { readonly is: "unreachable" }
  | { readonly is: "refused"; readonly why: string };

/** Where an outbox keeps what waits: localStorage in the browser. */
export interface Keep {
  read(): string | null;
  write(text: string): void;
}

/** Holds what could not be sent yet, over restarts of the page. */
export class Outbox<T> {
  private items: readonly Waiting<T>[];
  private running: Promise<void> | undefined;

  constructor(
    private readonly keep: Keep,
    private readonly send: (item: Waiting<T>) => Promise<Sent>,
    private readonly onChange: (items: readonly Waiting<T>[]) => void,
  ) {
    this.items = parse<T>(keep.read());
  }

  get waiting(): readonly Waiting<T>[] {
    return this.items;
  }

  add(item: Waiting<T>): void {
    this.set([...this.items, item]);
    void this.flush();
  }

  /** Takes a refused mark off the list; only on a person's word. */
  drop(key: string): void {
    this.set(this.items.filter((item) => item.key !== key));
  }

  /** Sends what waits, in order, until the line breaks again. Refused ones stay and are passed over. One run at a time: whoever asks meanwhile waits for it. */
  flush(): Promise<void> {
    this.running ??= this.run().finally(() => {
      this.running = undefined;
    });
    return this.running;
  }

  private async run(): Promise<void> {
    for (;;) {
      const next = this.items.find((item) => item.refusal === undefined);
      if (!next) return;
      const sent = await this.send(next);
      if (sent.is === "unreachable") return;
      this.set(
        sent.is === "taken"
          ? this.items.filter((item) => item.key !== next.key)
          : this.items.map((item) => (item.key === next.key ? { ...item, refusal: sent.why } : item)),
      );
    }
  }

  private set(items: readonly Waiting<T>[]): void {
    this.items = items;
    this.keep.write(JSON.stringify(items));
    this.onChange(items);
  }
}

function parse<T>(text: string | null): readonly Waiting<T>[] {
  try {
    const value: unknown = JSON.parse(text ?? "[]");
    return Array.isArray(value) ? (value as Waiting<T>[]) : [];
  } catch {
    return [];
  }
}
