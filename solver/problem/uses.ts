const keysKnown = new WeakMap<ReadonlySet<string>, string>();

/** Key of a class of allergens on a bench (and, without lye, on a mixer). */
export function benchClassKey(allergens: ReadonlySet<string>): string {
  let key = keysKnown.get(allergens);
  if (key === undefined) {
    key = [...allergens].sort().join("+");
    keysKnown.set(allergens, key);
  }
  return key;
}

/** Key of a class on a kettle: allergens and the strength of the bath. */
export function kettleClassKey(allergens: ReadonlySet<string>, lyePercent: number): string {
  return `${benchClassKey(allergens)}|${lyePercent}`;
}
