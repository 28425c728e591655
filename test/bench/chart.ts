export interface Series {
  readonly name: string;
  readonly points: readonly (readonly [x: number, y: number])[];
}

export interface Chart {
  readonly title: string;
  readonly note: string;
  readonly xName: string;
  readonly yName: string;
  readonly series: readonly Series[];
}

const WIDTH = 720;
const HEIGHT = 440;
const LEFT = 70;
const RIGHT = 190;
const TOP = 60;
const BOTTOM = 60;
/** Told apart by dashes and marks as well as by colour. */
const COLOURS = ["#1b5e8a", "#b3541e", "#3d7a3a", "#6b4f8f", "#555555"];
const DASHES = ["", "7 4", "2 4", "10 3 2 3", "1 3"];

function escaped(text: string): string {
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");
}

/** 1, 2 and 5 times the powers of ten that lie in a range, and one beyond each end. */
function ticks(low: number, high: number): number[] {
  const all: number[] = [];
  for (let power = -3; power <= 7; power++) for (const step of [1, 2, 5]) all.push(step * 10 ** power);
  const first = all.findLastIndex((tick) => tick <= low);
  const last = all.findIndex((tick) => tick >= high);
  return all.slice(Math.max(0, first), last < 0 ? all.length : last + 1);
}

/** A line chart with both axes logarithmic, as an SVG document. Points must be above 0; a series without points is only named. */
export function logChart({ title, note, xName, yName, series }: Chart): string {
  const points = series.flatMap((one) => one.points);
  const xTicks = ticks(Math.min(...points.map(([x]) => x)), Math.max(...points.map(([x]) => x)));
  const yTicks = ticks(Math.min(...points.map(([, y]) => y)), Math.max(...points.map(([, y]) => y)));
  const scale = (marks: readonly number[], from: number, to: number) => {
    const low = Math.log(marks[0]!);
    const high = Math.log(marks.at(-1)!);
    return (value: number): number => from + ((Math.log(value) - low) / Math.max(1e-9, high - low)) * (to - from);
  };
  const x = scale(xTicks, LEFT, WIDTH - RIGHT);
  const y = scale(yTicks, HEIGHT - BOTTOM, TOP);
  const at = (value: number): string => value.toFixed(1);
  const parts: string[] = [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${WIDTH}" height="${HEIGHT}" viewBox="0 0 ${WIDTH} ${HEIGHT}" font-family="sans-serif" font-size="12" role="img" aria-label="${escaped(title)}">`,
    `<rect width="${WIDTH}" height="${HEIGHT}" fill="#ffffff"/>`,
    `<text x="${LEFT}" y="24" font-size="15">${escaped(title)}</text>`,
    `<text x="${LEFT}" y="42" fill="#444444">${escaped(note)}</text>`,
  ];
  for (const tick of xTicks) {
    parts.push(
      `<line x1="${at(x(tick))}" y1="${TOP}" x2="${at(x(tick))}" y2="${HEIGHT - BOTTOM}" stroke="#dddddd"/>`,
      `<text x="${at(x(tick))}" y="${HEIGHT - BOTTOM + 18}" text-anchor="middle">${tick}</text>`,
    );
  }
  for (const tick of yTicks) {
    parts.push(
      `<line x1="${LEFT}" y1="${at(y(tick))}" x2="${WIDTH - RIGHT}" y2="${at(y(tick))}" stroke="#dddddd"/>`,
      `<text x="${LEFT - 8}" y="${at(y(tick) + 4)}" text-anchor="end">${Number(tick.toPrecision(2))}</text>`,
    );
  }
  parts.push(
    `<text x="${(LEFT + WIDTH - RIGHT) / 2}" y="${HEIGHT - 16}" text-anchor="middle">${escaped(xName)}</text>`,
    `<text transform="translate(18 ${(TOP + HEIGHT - BOTTOM) / 2}) rotate(-90)" text-anchor="middle">${escaped(yName)}</text>`,
  );
  series.forEach((one, s) => {
    const colour = COLOURS[s % COLOURS.length]!;
    const dash = DASHES[s % DASHES.length]!;
    const path = one.points.map(([px, py]) => `${at(x(px))},${at(y(py))}`).join(" ");
    parts.push(
      `<polyline points="${path}" fill="none" stroke="${colour}" stroke-width="2"${dash ? ` stroke-dasharray="${dash}"` : ""}/>`,
    );
    for (const [px, py] of one.points)
      parts.push(`<circle cx="${at(x(px))}" cy="${at(y(py))}" r="3.5" fill="${colour}"/>`);
    const top = TOP + 16 + s * 22;
    parts.push(
      `<line x1="${WIDTH - RIGHT + 14}" y1="${top - 4}" x2="${WIDTH - RIGHT + 44}" y2="${top - 4}" stroke="${colour}" stroke-width="2"${dash ? ` stroke-dasharray="${dash}"` : ""}/>`,
      `<text x="${WIDTH - RIGHT + 50}" y="${top}">${escaped(one.name)}</text>`,
    );
  });
  return `${parts.join("\n")}\n</svg>\n`;
}
