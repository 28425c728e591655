import type { SearchModel } from "./model.js";

/** Per heater the number of its kind: heaters of one kind have the same room minute by minute, the same lead and the same price. */
export function heaterKinds({
  heaters,
  heaterOfRow,
  classOfRow,
  capacity,
  horizon,
  rowCount,
}: SearchModel): Int32Array {
  const rowsOf: number[][] = heaters.map(() => []);
  for (let row = 0; row < rowCount; row++) if (heaterOfRow[row]! >= 0) rowsOf[heaterOfRow[row]!]!.push(row);
  const kinds = new Int32Array(heaters.length);
  const known = new Map<string, number>();
  heaters.forEach((heater, h) => {
    const key = JSON.stringify([
      heater.leadMinutes,
      heater.costPerMinute,
      heater.changeCost,
      [...heater.stretches],
      [...heater.noLead],
      rowsOf[h]!.map((row) => [classOfRow[row], ...steps(capacity, row * horizon, horizon)]),
    ]);
    if (!known.has(key)) known.set(key, known.size);
    kinds[h] = known.get(key)!;
  });
  return kinds;
}

/** Where a row's capacity changes, and to what. */
function steps(capacity: Int32Array, from: number, count: number): number[] {
  const list: number[] = [];
  for (let t = 0; t < count; t++)
    if (t === 0 || capacity[from + t] !== capacity[from + t - 1]) list.push(t, capacity[from + t]!);
  return list;
}
