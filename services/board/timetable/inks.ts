/** Colours of the canvas, taken from the style sheet so that light and dark are decided in one place. */
export interface Inks {
  readonly paper: string;
  readonly band: string;
  readonly night: string;
  readonly line: string;
  readonly lineStrong: string;
  readonly ink: string;
  readonly muted: string;
  readonly faint: string;
  readonly accent: string;
  readonly alarm: string;
  readonly good: string;
  readonly room: string;
  readonly used: string;
  readonly full: string;
  readonly warming: string;
  readonly hot: string;
  readonly hotInk: string;
  readonly clean: string;
  readonly select: string;
  readonly barInk: string;
  readonly isDark: boolean;
}

const NAMES = [
  "paper",
  "band",
  "night",
  "line",
  "line-strong",
  "ink",
  "muted",
  "faint",
  "accent",
  "alarm",
  "good",
  "room",
  "used",
  "full",
  "warming",
  "hot",
  "hot-ink",
  "clean",
  "select",
  "bar-ink",
] as const;

export function readInks(element: Element): Inks {
  const style = getComputedStyle(element);
  const found: Record<string, string> = {};
  for (const name of NAMES)
    found[name.replace(/-(\w)/g, (_, letter: string) => letter.toUpperCase())] = style
      .getPropertyValue(`--${name}`)
      .trim();
  return { ...found, isDark: style.getPropertyValue("--is-dark").trim() === "1" } as unknown as Inks;
}

/** Hues far enough apart to tell doughs from one another; each dough also has its two letters. */
const HUES = [75, 235, 145, 25, 300, 190, 105, 345, 265, 50];

export interface DoughInk {
  readonly fill: string;
  readonly edge: string;
  readonly mark: string;
}

export function doughInks(
  doughs: readonly { readonly id: string; readonly name: string }[],
  isDark: boolean,
): Map<string, DoughInk> {
  return new Map(
    doughs.map(({ id, name }, i) => {
      const hue = HUES[i % HUES.length]!;
      const fill = isDark ? `oklch(0.42 0.075 ${hue})` : `oklch(0.87 0.075 ${hue})`;
      const edge = isDark ? `oklch(0.74 0.12 ${hue})` : `oklch(0.56 0.13 ${hue})`;
      return [id, { fill, edge, mark: name.slice(0, 2) }];
    }),
  );
}
