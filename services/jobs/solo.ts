/** Lets many go on together, or one alone. Whoever wants to be alone goes before those who come after. */
export class Solo {
  private inside = 0;
  private isAlone = false;
  private readonly waiting: { readonly alone: boolean; readonly go: () => void }[] = [];

  /** Resolves when it may go on, with what to call when it is done. */
  async enter(alone: boolean): Promise<() => void> {
    await new Promise<void>((go) => {
      this.waiting.push({ alone, go });
      this.next();
    });
    return () => {
      this.inside--;
      this.isAlone = false;
      this.next();
    };
  }

  private next(): void {
    for (;;) {
      const [first] = this.waiting;
      if (!first || this.isAlone || (first.alone && this.inside > 0)) return;
      this.waiting.shift();
      this.inside++;
      this.isAlone = first.alone;
      first.go();
    }
  }
}
