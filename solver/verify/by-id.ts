interface Named {
  readonly id: string;
}

/** Of two with one id the first counts. */
export function firstById<T extends Named>(items: readonly T[]): ReadonlyMap<string, T> {
  const map = new Map<string, T>();
  for (const item of items) if (!map.has(item.id)) map.set(item.id, item);
  return map;
}

/** Of two with one id the last counts. */
export function lastById<T extends Named>(items: readonly T[]): ReadonlyMap<string, T> {
  const map = new Map<string, T>();
  for (const item of items) map.set(item.id, item);
  return map;
}
