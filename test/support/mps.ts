import { LpBuilder, type LpModel } from "../../solver/lp/model.js";

interface Column {
  cost: number;
  lower: number;
  upper: number;
  integer: boolean;
  readonly entries: Map<number, number>;
  boundGiven: boolean;
}

/** Reads a model in MPS (free or fixed fields separated by blanks): RANGES, BOUNDS, integer markers, an objective's RHS as a constant. */
export function readMps(text: string): { model: LpModel; constant: number } {
  const rows: { kind: string; rhs: number; range: number | null }[] = [];
  const rowIndex = new Map<string, number>();
  const columns: Column[] = [];
  const columnIndex = new Map<string, number>();
  let objective = "";
  let constant = 0;
  let section = "";
  let integer = false;
  for (const line of text.split(/\r?\n/)) {
    if (line.trim() === "" || line.startsWith("*")) continue;
    const fields = line.trim().split(/\s+/);
    if (!/^\s/.test(line)) {
      section = fields[0]!;
      continue;
    }
    if (section === "ROWS") {
      const [kind, name] = fields as [string, string];
      if (kind === "N") objective ||= name;
      else rowIndex.set(name, rows.push({ kind, rhs: 0, range: null }) - 1);
    } else if (section === "COLUMNS") {
      if (fields[1] === "'MARKER'") {
        integer = fields[2] === "'INTORG'";
        continue;
      }
      const name = fields[0]!;
      let index = columnIndex.get(name);
      if (index === undefined) {
        index =
          columns.push({
            cost: 0,
            lower: 0,
            upper: Number.POSITIVE_INFINITY,
            integer,
            entries: new Map(),
            boundGiven: false,
          }) - 1;
        columnIndex.set(name, index);
      }
      for (let i = 1; i + 1 < fields.length; i += 2) {
        const value = Number(fields[i + 1]);
        if (fields[i] === objective) columns[index]!.cost = value;
        else if (rowIndex.has(fields[i]!)) columns[index]!.entries.set(rowIndex.get(fields[i]!)!, value);
      }
    } else if (section === "RHS" || section === "RANGES") {
      const from = fields.length % 2 === 0 ? 0 : 1;
      for (let i = from; i + 1 < fields.length; i += 2) {
        const value = Number(fields[i + 1]);
        if (section === "RHS" && fields[i] === objective) constant = -value;
        const row = rows[rowIndex.get(fields[i]!) ?? -1];
        if (!row) continue;
        if (section === "RHS") row.rhs = value;
        else row.range = value;
      }
    } else if (section === "BOUNDS") bound(columns, columnIndex, fields);
  }
  return { model: build(rows, columns), constant };
}

function bound(columns: Column[], index: ReadonlyMap<string, number>, fields: readonly string[]): void {
  const kind = fields[0]!;
  const named = index.has(fields[2] ?? "");
  const column = columns[index.get(named ? fields[2]! : fields[1]!)!]!;
  const value = Number(fields[named ? 3 : 2]);
  if (kind === "UP" || kind === "UI") {
    column.upper = value;
    if (value < 0 && !column.boundGiven) column.lower = Number.NEGATIVE_INFINITY;
  } else if (kind === "LO" || kind === "LI") column.lower = value;
  else if (kind === "FX") {
    column.lower = value;
    column.upper = value;
  } else if (kind === "FR") {
    column.lower = Number.NEGATIVE_INFINITY;
    column.upper = Number.POSITIVE_INFINITY;
  } else if (kind === "MI") column.lower = Number.NEGATIVE_INFINITY;
  else if (kind === "PL") column.upper = Number.POSITIVE_INFINITY;
  else if (kind === "BV") {
    column.integer = true;
    column.lower = 0;
    column.upper = 1;
  }
  column.boundGiven = true;
}

function build(
  rows: readonly { kind: string; rhs: number; range: number | null }[],
  columns: readonly Column[],
): LpModel {
  const builder = new LpBuilder();
  for (const { cost, lower, upper, integer } of columns) builder.addColumn({ cost, lower, upper, integer });
  rows.forEach(({ kind, rhs, range }, r) => {
    let lower = kind === "L" ? Number.NEGATIVE_INFINITY : rhs;
    let upper = kind === "G" ? Number.POSITIVE_INFINITY : rhs;
    if (range !== null) {
      if (kind === "L") lower = rhs - Math.abs(range);
      else if (kind === "G") upper = rhs + Math.abs(range);
      else if (range > 0) upper = rhs + range;
      else lower = rhs + range;
    }
    const entries = columns.flatMap((column, c): [number, number][] =>
      column.entries.has(r) ? [[c, column.entries.get(r)!]] : [],
    );
    builder.addRow({ lower, upper }, entries);
  });
  return builder.build();
}
