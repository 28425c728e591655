import type { Prepared } from "../problem/prepare.js";
import type { Alternative, Operation } from "../search/model.js";

/**
 * The alternative of an operation that is on a unit. Work may have begun at a bench where nothing would begin now (a slow one, while there is another): it is
 * looked for among the rows of the same kind of work. Undefined: the operation is not done there.
 */
export function alternativeOn(
  prepared: Prepared,
  { alternatives }: Operation,
  unit: string | undefined,
): Alternative | undefined {
  const { meanings } = prepared.book;
  for (const alternative of alternatives)
    if (alternative.row < 0 || meanings[alternative.row]!.unit === unit) return alternative;
  const like = alternatives[0];
  if (!like || unit === undefined || meanings[like.row]!.kind !== "bench") return undefined;
  const row = benchRow(prepared, like.row, unit);
  return row === undefined ? undefined : { ...like, row };
}

/** The row for work of the same class at another bench of the site. */
function benchRow({ request, book }: Prepared, row: number, unit: string): number | undefined {
  const { site, unit: own } = book.meanings[row]!;
  const { benches } = request.rows.get(site)!;
  const prefix = `${site}/`;
  if (own === undefined || !unit.startsWith(prefix)) return undefined;
  const from = own.slice(prefix.length);
  for (const [key, value] of benches)
    if (value === row) return benches.get(unit.slice(prefix.length) + key.slice(from.length));
  return undefined;
}
