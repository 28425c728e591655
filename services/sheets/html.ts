import type { DayDocuments, Timetable } from "../../schemas/index.js";
import type { CellKind, Drawing, Sheet } from "../../solver/sheets/index.js";
import { CAUTIONS, COMES_FIRST, ONLY_COMPUTED } from "../../solver/trade/cautions.js";
import { factHeightMm, factWidthMm } from "./boxes.js";
import { type Formatter, formatterOf } from "./format.js";
import { allergensText, DRAWING_HEIGHT_MM, type LaidTable, type Page, type Paper, pagesOf } from "./layout.js";
import { PAGE_WIDTH_MM, partsOf } from "./measure.js";
import { STYLE } from "./style.js";

export function escapeHtml(text: string): string {
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;").replaceAll('"', "&quot;");
}

function unbrokenHtml(line: string): string {
  return partsOf(line)
    .map(({ text, isWhole }) => (isWhole ? `<span class="whole">${escapeHtml(text)}</span>` : escapeHtml(text)))
    .join("");
}

const RIGHT: ReadonlySet<CellKind> = new Set(["mass", "temp", "difference", "minutes", "count", "money", "percent"]);

function cellClass(as: CellKind): string {
  if (as === "strong") return ' class="strong"';
  if (as === "clock") return ' class="clock"';
  if (as === "blank") return ' class="blank"';
  return RIGHT.has(as) ? ' class="figure"' : "";
}

function cellHtml(as: CellKind, lines: readonly string[]): string {
  if (as === "tick") return '<span class="tick"></span>';
  return lines.map(unbrokenHtml).join("<br>");
}

function tableHtml(table: LaidTable, pt: number): string {
  const heads = table.columns.some(({ title }) => title !== "")
    ? `<thead><tr>${table.columns.map(({ title, as }) => `<th scope="col"${cellClass(as)}>${escapeHtml(title)}</th>`).join("")}</tr></thead>`
    : "";
  const rows = table.rows.map((row) =>
    row.kind === "day"
      ? `<tr class="day"><td colspan="${table.columns.length}">${escapeHtml(row.text)}</td></tr>`
      : `<tr>${row.cells.map((lines, i) => `<td${cellClass(table.columns[i]!.as)}>${cellHtml(table.columns[i]!.as, lines)}</td>`).join("")}</tr>`,
  );
  const widths = table.widthsMm.map((width) => `<col style="width:${width.toFixed(2)}mm">`).join("");
  const title = table.title === undefined ? "" : `<h2 style="font-size:${pt}pt">${escapeHtml(table.title)}</h2>`;
  return `${title}<table style="font-size:${pt}pt"><colgroup>${widths}</colgroup>${heads}<tbody>${rows.join("")}</tbody></table>`;
}

/** Labels: the first column is the name, the second a line under it, the rest named figures. */
function cardsHtml(table: LaidTable): string {
  const cards = table.rows.flatMap((row) => {
    if (row.kind === "day") return [];
    const [name, item, ...rest] = row.cells.map((lines) => lines.join(" "));
    const figures = rest.flatMap((text, i) => {
      const { title, as } = table.columns[i + 2]!;
      if (text === "") return [];
      const big = as === "clock" ? ' class="clock"' : i === rest.length - 1 ? ' class="last"' : "";
      // The weekday goes up to the title, so that four times stand side by side.
      const [, weekday, time] = as === "clock" ? (/^([A-Z][a-z]{2}) (.*)$/.exec(text) ?? []) : [];
      const over = weekday === undefined ? title : `${title} ${weekday}`;
      const isFirstClock = as === "clock" && table.columns[i + 1]!.as !== "clock";
      return [
        `${isFirstClock ? '<div class="break"></div>' : ""}<div${big}><dt>${escapeHtml(over)}</dt><dd>${escapeHtml(time ?? text)}</dd></div>`,
      ];
    });
    return [
      `<article style="height:${(table.cardMm - 0.5).toFixed(1)}mm"><h3>${escapeHtml(name ?? "")}</h3><p>${escapeHtml(item ?? "")}</p><dl>${figures.join("")}</dl></article>`,
    ];
  });
  return `<div class="cards">${cards.join("")}</div>`;
}

function drawingHtml(drawing: Drawing): string {
  const { widthMm, depthMm } = drawing;
  const places = drawing.places.map(({ label, xMm, yMm, widthMm: w, depthMm: d }) => {
    // The origin of a layout is front left; on paper the front is at the bottom.
    const y = depthMm - yMm - d;
    return `<rect x="${xMm}" y="${y}" width="${w}" height="${d}"/><text x="${xMm + w / 2}" y="${y + d / 2}">${escapeHtml(label)}</text>`;
  });
  const scale = Math.min(DRAWING_HEIGHT_MM / depthMm, 88 / widthMm);
  return `<figure><svg viewBox="-10 -10 ${widthMm + 20} ${depthMm + 20}" style="width:${(widthMm * scale).toFixed(1)}mm;height:${(depthMm * scale).toFixed(1)}mm" role="img" aria-label="Positions of ${escapeHtml(drawing.title)}, door at the bottom"><rect class="edge" width="${widthMm}" height="${depthMm}"/>${places.join("")}</svg><figcaption>${escapeHtml(drawing.title)}, door at the bottom</figcaption></figure>`;
}

function factsHtml(facts: Page["facts"]): string {
  if (facts.length === 0) return "";
  const boxes = facts.map(({ fact, text }) => {
    const note = fact.note === undefined ? "" : `<small>${escapeHtml(fact.note)}</small>`;
    return `<div style="width:${factWidthMm(fact, text).toFixed(1)}mm;height:${factHeightMm(facts)}mm"><dt>${escapeHtml(fact.label)}</dt><dd>${text === "" ? "&nbsp;" : escapeHtml(text)}</dd>${note}</div>`;
  });
  return `<dl class="facts">${boxes.join("")}</dl>`;
}

/** What every sheet says at its foot. */
function footText(day: DayDocuments): string {
  const { jurisdiction } = day.settings;
  return `${COMES_FIRST} ${ONLY_COMPUTED}${jurisdiction === undefined ? "" : ` Limits entered for: ${jurisdiction}.`}`;
}

function pageHtml(page: Page, formatter: Formatter, foot: string): string {
  const { sheet } = page;
  const part = page.of > 1 ? `page ${page.number} of ${page.of}` : "";
  const head = `<header><div><h1>${escapeHtml(sheet.title)}</h1><p>${escapeHtml(sheet.subtitle)}</p></div><div class="where"><strong>${escapeHtml(sheet.siteName)}</strong><br>${escapeHtml(formatter.day(sheet.from))}<br>${part}</div></header>`;
  const tables = page.tables.map((table) => (table.shape === "cards" ? cardsHtml(table) : tableHtml(table, page.pt)));
  const drawings = page.hasDrawings ? `<div class="drawings">${sheet.drawings.map(drawingHtml).join("")}</div>` : "";
  const allergens =
    sheet.allergens === null ? "" : `<p class="allergens">${escapeHtml(allergensText(sheet.allergens))}</p>`;
  const list = (texts: readonly string[], kind: string): string =>
    texts.length === 0
      ? ""
      : `<ul class="${kind}">${texts.map((text) => `<li>${escapeHtml(text)}</li>`).join("")}</ul>`;
  const cautions = list(
    sheet.cautions.map((caution) => CAUTIONS[caution]),
    "cautions",
  );
  return `<section class="page">${head}${factsHtml(page.facts)}${tables.join("")}${drawings}${allergens}${cautions}${list(sheet.notes, "notes")}<footer>${escapeHtml(foot)} <span>${escapeHtml(sheet.id)}</span></footer></section>`;
}

/** Pages of sheets, laid out for a paper. */
export function layOut(
  day: DayDocuments,
  timetable: Pick<Timetable, "window">,
  sheets: readonly Sheet[],
  paper: Paper,
): Page[] {
  return sheets.flatMap((sheet) => pagesOf(sheet, formatterOf(day, timetable, sheet), footText(day), paper));
}

/** A whole HTML document of laid out pages, with no scripts and nothing to fetch: one printed page each. */
export function pagesHtml(
  day: DayDocuments,
  timetable: Pick<Timetable, "window">,
  pages: readonly Page[],
  paper: Paper,
): string {
  const body = pages.map((page) => pageHtml(page, formatterOf(day, timetable, page.sheet), footText(day)));
  const isOne = pages.every((page) => page.sheet.id === pages[0]!.sheet.id);
  const title = isOne && pages.length > 0 ? pages[0]!.sheet.title : `Sheets: ${day.settings.name}`;
  const size = paper === "a4" ? "210mm 297mm" : "8.5in 11in";
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>${escapeHtml(title)}</title>
<style>@page{size:${size};margin:10mm}${STYLE.replaceAll("$WIDTH", `${PAGE_WIDTH_MM}mm`)}</style></head>
<body>${body.join("\n")}</body></html>
`;
}

/** Sheets as one HTML document, for the paper of the settings unless another is given. */
export function sheetsHtml(
  day: DayDocuments,
  timetable: Pick<Timetable, "window">,
  sheets: readonly Sheet[],
  paper: Paper = day.settings.paper ?? "a4",
): string {
  return pagesHtml(day, timetable, layOut(day, timetable, sheets, paper), paper);
}
