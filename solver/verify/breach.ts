/** The rules of a conflict-free timetable, and `form` for a timetable that contradicts itself. */
export type Rule =
  | "R1"
  | "R2"
  | "R3"
  | "R4"
  | "R5"
  | "R6"
  | "R7"
  | "R8"
  | "R9"
  | "R10"
  | "R11"
  | "R12"
  | "R13"
  | "R14"
  | "R15"
  | "R16"
  | "form";

/** One thing wrong with a timetable: which rule, who, where, when. */
export interface Breach {
  readonly rule: Rule;
  readonly code: string;
  readonly message: string;
  /** Ids of the tasks concerned. */
  readonly tasks: readonly string[];
  readonly unit?: string;
  readonly from?: string;
  readonly to?: string;
}

/** Gathers breaches, at most so many a rule: a timetable of another day breaks everything. */
const MOST_PER_RULE = 500;

export class Report {
  readonly breaches: Breach[] = [];
  private readonly counts = new Map<Rule, number>();

  add(
    rule: Rule,
    code: string,
    message: string,
    tasks: readonly string[] = [],
    where: Pick<Breach, "unit" | "from" | "to"> = {},
  ): void {
    const count = (this.counts.get(rule) ?? 0) + 1;
    this.counts.set(rule, count);
    if (count <= MOST_PER_RULE) this.breaches.push({ rule, code, message, tasks: [...tasks], ...where });
  }
}
