import type { HandMove, Verdict } from "../logic/hand-move.js";
import type { Plan } from "../logic/plan.js";
import type { FromChecker, ToChecker } from "./check.worker.js";

/** Asks the worker about moves. Only the newest question matters: older ones are answered with undefined. */
class Checker {
  private worker: Worker | undefined;
  private known: Plan | undefined;
  private busy = false;
  private number = 0;
  private answer: ((verdict: Verdict | undefined) => void) | undefined;
  private next: { move: HandMove; resolve: (verdict: Verdict | undefined) => void } | undefined;

  judge(plan: Plan, move: HandMove): Promise<Verdict | undefined> {
    if (!this.worker) {
      this.worker = new Worker(new URL("./check.worker.ts", import.meta.url), { type: "module" });
      this.worker.addEventListener("message", (event: MessageEvent<FromChecker>) => this.answered(event.data));
    }
    if (this.known !== plan) {
      this.known = plan;
      this.send({ kind: "plan", day: plan.day, timetable: plan.timetable });
    }
    return new Promise((resolve) => {
      this.next?.resolve(undefined);
      this.next = { move, resolve };
      if (!this.busy) this.ask();
    });
  }

  private send(message: ToChecker): void {
    this.worker!.postMessage(message);
  }

  private ask(): void {
    if (!this.next) return;
    this.busy = true;
    this.number += 1;
    this.answer = this.next.resolve;
    this.send({ kind: "move", number: this.number, move: this.next.move });
    this.next = undefined;
  }

  private answered({ number, verdict }: FromChecker): void {
    if (number !== this.number) return;
    this.busy = false;
    this.answer?.(verdict);
    this.ask();
  }
}

export const checker = new Checker();
