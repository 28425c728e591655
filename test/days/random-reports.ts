import type { Happening, Task, Timetable } from "../../schemas/index.js";
import type { Rng } from "../../solver/rng.js";

const MINUTE = 60_000;

function instant(ms: number): string {
  return new Date(ms).toISOString().replace(/:\d\d\.\d\d\dZ$/, ":00Z");
}

function pick<T>(rng: Rng, items: readonly T[]): T | undefined {
  return items.length > 0 ? items[rng.below(items.length)] : undefined;
}

/** Draws reports of how far work is; what they say is not asked to be possible. */
class ReportMaker {
  private readonly fromMs: number;
  private readonly past: readonly Task[];

  constructor(
    private readonly inForce: Timetable,
    private readonly atMs: number,
    private readonly rng: Rng,
  ) {
    this.fromMs = Date.parse(inForce.window.from);
    this.past = inForce.tasks.filter(({ does, start }) => does !== "clean" && Date.parse(start) < atMs + 30 * MINUTE);
  }

  private told(ms: number): number {
    return Math.min(Math.max(ms, this.fromMs), this.atMs);
  }

  private off(most: number): number {
    return MINUTE * (this.rng.below(2 * most + 1) - most);
  }

  /** Nearly every task, some minutes off, some by half an hour. */
  marks(): Happening[] {
    const { rng, atMs } = this;
    const off = (): number => (rng.below(4) === 0 ? this.off(30) : this.off(3));
    const ahead = (): string => instant(atMs + MINUTE * (rng.below(40) - 5));
    return this.past.flatMap(({ id: task, start, end }): Happening[] => {
      if (rng.below(4) === 0) return [];
      const began: Happening = { kind: "started", task, at: instant(this.told(Date.parse(start) + off())) };
      const ended: Happening = { kind: "finished", task, at: instant(this.told(Date.parse(end) + off())) };
      const kind = rng.below(6);
      if (kind === 0) return [began];
      if (kind === 1) return [ended];
      if (kind === 2) return [began, ended];
      if (kind === 3) return [{ kind: "running", task, until: ahead() }];
      if (kind !== 4 || rng.below(3) > 0) return [];
      return [{ kind: "not-started", task, ...(rng.below(2) ? { notBefore: ahead() } : {}) }];
    });
  }

  /** A few, hours off, several of one task. */
  wild(): Happening[] {
    const { rng, atMs } = this;
    const found: Happening[] = [];
    for (let i = 1 + rng.below(6); i > 0; i--) {
      const before = pick(rng, found) as { task: string } | undefined;
      const again = before && rng.below(3) === 0 && this.inForce.tasks.find(({ id }) => id === before.task);
      const anyTask = this.inForce.tasks.filter(({ does }) => does !== "clean");
      const one = again || pick(rng, rng.below(5) === 0 ? anyTask : this.past);
      if (!one) continue;
      const { id: task } = one;
      const began = instant(this.told(Date.parse(one.start) + this.off(120)));
      const ended = instant(this.told(Date.parse(one.end) + this.off(120)));
      const later = instant(atMs + this.off(120));
      const kinds: Happening[] = [
        { kind: "started", task, at: began },
        { kind: "finished", task, at: ended },
        { kind: "finished", task, at: ended, startedAt: began },
        { kind: "running", task, until: later },
        { kind: "not-started", task, ...(rng.below(2) ? { notBefore: later } : {}) },
      ];
      found.push(pick(rng, kinds)!);
    }
    return found;
  }

  /** Of what was carried to another place, or goes on there: it has not begun to. */
  ofParts(): Happening[] {
    const { rng, atMs } = this;
    const part = pick(
      rng,
      this.inForce.tasks.filter(({ id }) => /-(2|carried)$/.test(id)),
    );
    if (!part || rng.below(2) === 0) return [];
    const notBefore = rng.below(3) ? { notBefore: instant(atMs + MINUTE * rng.below(60)) } : {};
    return [{ kind: "not-started", task: part.id, ...notBefore }];
  }
}

/** Reports of a morning that may contradict each other, as a hurried station gives them, or a slip of the pen. */
export function randomReports(inForce: Timetable, atMs: number, rng: Rng, how: "marks" | "wild"): Happening[] {
  const maker = new ReportMaker(inForce, atMs, rng);
  return [...(rng.below(2) ? maker[how]() : []), ...maker.ofParts()];
}
