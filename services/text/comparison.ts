import type { Comparison, DayDocuments, StationLoad } from "../../schemas/index.js";
import { siteName } from "../../solver/index.js";
import { table } from "./table.js";

function money(value: number): string {
  return value.toFixed(2);
}

/** The sides as columns: what is late, short, moved, what it costs, and how full each station gets. */
export function comparisonText(day: DayDocuments, { name, sides, leftOut = [] }: Comparison): string {
  const heads = sides.map((_, i) => (i === 0 ? "as it is" : `(${i})`));
  const row = (label: string, value: (side: Comparison["sides"][number]) => string): string[] => [
    `  ${label}`,
    ...sides.map(value),
  ];
  const keys = [...new Set(sides.flatMap((side) => side.loads.map(({ site, station }) => `${site} ${station}`)))];
  const loadOf = (loads: readonly StationLoad[], key: string): string => {
    const found = loads.find(({ site, station }) => `${site} ${station}` === key);
    return found ? `${Math.round(found.busiest * 100)} %` : "";
  };
  const named = sides
    .slice(1)
    .flatMap((side, i) => [`  (${i + 1}) ${side.name}`, ...side.changes.map((change) => `      ${change}`)]);
  const columns = sides.map((_, i) => i + 1);
  const lines = [
    name,
    "",
    "What if",
    ...named,
    ...leftOut.map(({ name: own, why }) => `  ${own}: left out, it does not apply. ${why}`),
    "",
    ...table(
      [
        ["", ...heads],
        row("Lines on time", (side) => `${side.linesOnTime} of ${side.lines}`),
        row("Lines late", (side) => String(side.linesLate)),
        row("Lines short", (side) => String(side.linesShort)),
        row("Pieces short", (side) => `${side.shortPieces} of ${side.pieces}`),
        row("Late, piece-minutes", (side) => String(side.latePieceMinutes)),
        row("Lines baked elsewhere", (side) => String(side.linesMoved)),
        row("Van trips", (side) => String(side.vanTrips)),
        row(`Cost ${day.settings.currency ?? ""}`.trim(), (side) => money(side.cost.total)),
      ],
      columns,
    ),
    "",
    "Busiest hour of each station",
    ...table(
      keys.map((key) => {
        const [site, station] = key.split(" ") as [string, string];
        return [`  ${station} at ${siteName(day, site)}`, ...sides.map((side) => loadOf(side.loads, key))];
      }),
      columns,
    ),
    "",
    "Each side is searched as long as the others and verified; costs of renting or staffing a change are not in it.",
  ];
  return `${lines.join("\n")}\n`;
}
