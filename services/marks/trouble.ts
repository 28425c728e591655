/** What can go wrong with a task, as a station says it. */
export type Trouble =
  | { readonly is: "longer" | "late"; readonly minutes: number }
  | { readonly is: "lost"; readonly pieces: number }
  | { readonly is: "spoiled" }
  | { readonly is: "short"; readonly massG: number }
  | { readonly is: "out"; readonly minutes?: number };

const minutes = { type: "integer", minimum: 1, maximum: 2880 } as const;

function kind(is: readonly string[], more: object = {}, required: readonly string[] = []): object {
  return {
    type: "object",
    additionalProperties: false,
    required: ["is", ...required],
    properties: { is: { enum: is }, ...more },
  };
}

export const TROUBLE_SCHEMA = {
  description:
    "longer: it takes so many minutes more. late: it cannot start for so many minutes. lost: pieces of its load. spoiled: all of it. short: its batch came out lighter. out: its unit does not work, for so many minutes or until further notice.",
  oneOf: [
    kind(["longer", "late"], { minutes }, ["minutes"]),
    kind(["lost"], { pieces: { type: "integer", minimum: 1, maximum: 1_000_000 } }, ["pieces"]),
    kind(["spoiled"]),
    kind(["short"], { massG: { type: "number", exclusiveMinimum: 0, maximum: 1_000_000 } }, ["massG"]),
    kind(["out"], { minutes }),
  ],
} as const;

const WORDS: readonly (readonly [pattern: RegExp, trouble: (value: number) => Trouble])[] = [
  [/^takes (\d{1,4}) min longer$/, (value) => ({ is: "longer", minutes: value })],
  [/^starts (\d{1,4}) min late$/, (value) => ({ is: "late", minutes: value })],
  [/^(\d{1,6}) pieces lost$/, (value) => ({ is: "lost", pieces: value })],
  [/^all of it spoiled$/, () => ({ is: "spoiled" })],
  [/^(\d{1,4}(?:\.\d{1,3})?) kg of dough short$/, (value) => ({ is: "short", massG: value * 1000 })],
  [/^its unit does not work for (\d{1,4}) min$/, (value) => ({ is: "out", minutes: value })],
  [/^its unit does not work$/, () => ({ is: "out" })],
];

/** The notes that kitchen screens send, understood; undefined for anything else that somebody wrote. */
export function troubleIn(note: string): Trouble | undefined {
  for (const [pattern, trouble] of WORDS) {
    const match = pattern.exec(note);
    // Nought of anything is no trouble.
    if (match) return match[1] !== undefined && Number(match[1]) === 0 ? undefined : trouble(Number(match[1]));
  }
  return undefined;
}
