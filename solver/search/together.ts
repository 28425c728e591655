import { type Change, Footprint, longestChange, makeChange, tryChange, writeChange, writePlan } from "./change.js";
import type { Draft } from "./draft.js";
import { markOf } from "./model-mark.js";

/**
 * What searches side by side of one model share: the changes of one plan in one order. Each makes the changes of the others as it comes to them, so that all stand at the same plan
 * after the same number of changes. The surroundings provide it; a search reads and adds.
 */
export interface ChangeLog {
  /**
   * Comes in, so far into the budget (0..1), with the mark of its model. "alone": nobody is there yet; "welcome": others are, and one of them will add the whole plan at once; "apart": they are too far on,
   * or search another model.
   */
  join(progress: number, mark: number): "alone" | "welcome" | "apart";
  /** The plan that the others stand at, once one of them has added it; undefined when nobody does. What comes after it is next. */
  welcome(): Change | undefined;
  /** Has somebody come in who needs the whole plan? */
  isPlanAsked(): boolean;
  /** The next change by another that was not seen yet; valid until the next call. */
  next(): Change | undefined;
  /** Adds a change if all before it have been seen: else "behind". "full": another has not read for so long that there is no room. */
  add(change: Change, length: number, isPlan: boolean): "added" | "behind" | "full";
  /** Tells how far the budget is used up, 0..1. */
  tell(progress: number): void;
  /** Does not read any more. */
  leave(): void;
}

/**
 * One of several searches of one plan, each of which keeps the whole of it: a change is found by one of them, put at the end of the log, and made by all. Most changes are refused, and refusing takes
 * no word with the others: so two searches make nearly twice as many tries of one course. A change that was found while another one came first is made again on top of that, or given up where the two
 * meet, where there is no room any more, or where it would cost more than was to be accepted: every change in the log has been accepted for the plan that it was added to.
 * (Kravitz & Rutenbar, "Placement by simulated annealing on a multiprocessor", 1987, from memory.) Until it has a log a search is alone.
 */
export class Together {
  private log: ChangeLog | undefined;
  private isAsked = false;
  private own: Change = new Int32Array(0);
  private footprint: Footprint | undefined;

  /** `logFor` is asked with each progress until it gives a log. */
  constructor(
    private readonly draft: Draft,
    private readonly logFor: () => ChangeLog | undefined = () => undefined,
  ) {}

  /**
   * So far is the budget used up, 0..1. Comes in when there is a log: what all stand at is then the better of their plan and this one. Who has come in after it is given the whole plan. Is it another
   * plan now?
   */
  at(progress: number): boolean {
    if (this.log) {
      this.log.tell(progress);
      return this.log.isPlanAsked() && this.givePlan(this.log);
    }
    const log = this.isAsked ? undefined : this.logFor();
    if (!log) return false;
    this.isAsked = true;
    const { draft } = this;
    const found = log.join(progress, markOf(draft.model));
    if (found === "apart") return false;
    this.log = log;
    this.own = new Int32Array(longestChange(draft.model));
    return found === "welcome" && this.arrive(log);
  }

  private arrive(log: ChangeLog): boolean {
    const { draft, own } = this;
    const plan = log.welcome();
    if (!plan) {
      this.leave();
      return false;
    }
    const length = writePlan(draft.state, own);
    const { energy } = draft;
    makeChange(draft.state, plan);
    for (;;) {
      this.follow(log);
      if (draft.energy <= energy) return true;
      const added = log.add(own, length, true);
      if (added === "full") return true;
      if (added === "added") break;
    }
    makeChange(draft.state, own);
    return false;
  }

  private givePlan(log: ChangeLog): boolean {
    const isAny = this.follow(log);
    log.add(this.own, writePlan(this.draft.state, this.own), true);
    return isAny;
  }

  /** Before a try: makes what others have added. Is it another plan now? */
  catchUp(): boolean {
    return this.log !== undefined && this.follow(this.log);
  }

  /** Makes what others have added; false when there was nothing. */
  private follow(log: ChangeLog): boolean {
    let isAny = false;
    for (let change = log.next(); change; change = log.next()) {
      makeChange(this.draft.state, change);
      isAny = true;
    }
    return isAny;
  }

  /** Adds the draft's change, which is to be accepted; false when others came first and it is no longer: then it has been taken back. */
  agree(): boolean {
    const { draft, log, own } = this;
    if (!log) return true;
    const length = writeChange(draft, own);
    if (length === 0) return true;
    for (;;) {
      const added = log.add(own, length, false);
      if (added === "added") return true;
      draft.reject();
      if (added === "full" || !this.makeAgain(log)) return false;
    }
  }

  /** Makes what others have added, and the own change on top of it if it is still to be accepted. */
  private makeAgain(log: ChangeLog): boolean {
    const { draft, own } = this;
    const before = draft.energy;
    this.footprint ??= new Footprint(draft.model);
    const { footprint } = this;
    footprint.set(own);
    let isMet = false;
    for (let change = log.next(); change; change = log.next()) {
      isMet ||= footprint.meets(change);
      makeChange(draft.state, change);
    }
    draft.limit += draft.energy - before;
    if (!isMet && tryChange(draft, own) && draft.leadsClear() && draft.energy <= draft.limit) return true;
    draft.reject();
    return false;
  }

  leave(): void {
    this.log?.leave();
    this.log = undefined;
  }
}
