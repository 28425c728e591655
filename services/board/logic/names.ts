/** From this length on a word may be cut. */
const LONG = 6;

function cut(word: string, letters: number): string {
  return word.length < LONG ? word : `${word.slice(0, letters)}.`;
}

/**
 * Shorter ways to write a name, the longest first: long words cut ("Chocolate cookie", "Choc. cook."), then the first letters of its first and
 * last words ("Cho co", "Ch co").
 */
export function shortNames(name: string): string[] {
  const words = name.trim().split(/\s+/);
  const last = words.at(-1)!;
  const ways = [words.map((word) => cut(word, 4)).join(" ")];
  if (words.length > 1) for (const letters of [3, 2]) ways.push(`${words[0]!.slice(0, letters)} ${last.slice(0, 2)}`);
  return ways.filter((way, i) => way.length < name.length && ways.indexOf(way) === i);
}
