/** One field of a form: a number within limits, a wall-clock time, or one of several. */
export type Ask = { readonly key: string; readonly label: string } & (
  | {
      readonly is: "number";
      readonly first: number;
      readonly min: number;
      readonly max: number;
      readonly step?: number;
    }
  | { readonly is: "time"; readonly first: string }
  | { readonly is: "choice"; readonly choices: readonly Choice[] }
);

export interface Choice {
  readonly value: string;
  readonly text: string;
}

export type Values = Readonly<Record<string, string>>;

/** One thing that a form can make: what is asked, and what the answers make. */
export interface Asking<T> {
  readonly id: string;
  readonly text: string;
  readonly asks: readonly Ask[];
  readonly make: (values: Values) => T;
}

/** What the fields hold before anything is typed. */
export function firstValues({ asks }: Asking<unknown>): Values {
  return Object.fromEntries(
    asks.map((ask) => [ask.key, ask.is === "choice" ? (ask.choices[0]?.value ?? "") : String(ask.first)]),
  );
}

/** Those for which there is something to choose from. */
export function askable<T>(askings: readonly Asking<T>[]): Asking<T>[] {
  return askings.filter(({ asks }) => asks.every((ask) => ask.is !== "choice" || ask.choices.length > 0));
}
