import type { DayDocuments, Timetable } from "../../../schemas/index.js";
import type { CellKind, Drawing } from "../../../solver/sheets/index.js";
import { CAUTIONS, COMES_FIRST, ONLY_COMPUTED } from "../../../solver/trade/cautions.js";
import { factHeightMm, factWidthMm } from "../../sheets/boxes.js";
import { type Formatter, formatterOf } from "../../sheets/format.js";
import { allergensText, DRAWING_HEIGHT_MM, type LaidTable, type Page } from "../../sheets/layout.js";
import { partsOf } from "../../sheets/measure.js";

/** The printed sheets' pages as elements: the same layout that the command line writes as HTML. */

const RIGHT: ReadonlySet<CellKind> = new Set(["mass", "temp", "difference", "minutes", "count", "money", "percent"]);

function cellClass(as: CellKind): string | undefined {
  if (as === "strong" || as === "clock" || as === "blank") return as;
  return RIGHT.has(as) ? "figure" : undefined;
}

function CellText({ as, lines }: { as: CellKind; lines: readonly string[] }) {
  if (as === "tick") return <span class="tick" />;
  return (
    <>
      {lines.map((line, i) => (
        <span key={`${i} ${line}`}>
          {i > 0 && <br />}
          {partsOf(line).map(({ text, isWhole }, k) =>
            isWhole ? (
              <span key={`${k} ${text}`} class="whole">
                {text}
              </span>
            ) : (
              text
            ),
          )}
        </span>
      ))}
    </>
  );
}

function LaidTableView({ table, pt }: { table: LaidTable; pt: number }) {
  const fontSize = `${pt}pt`;
  return (
    <>
      {table.title !== undefined && <h2 style={{ fontSize }}>{table.title}</h2>}
      <table style={{ fontSize }}>
        <colgroup>
          {table.widthsMm.map((width, i) => (
            <col key={table.columns[i]!.key} style={{ width: `${width.toFixed(2)}mm` }} />
          ))}
        </colgroup>
        {table.columns.some(({ title }) => title !== "") && (
          <thead>
            <tr>
              {table.columns.map(({ key, title, as }) => (
                <th key={key} scope="col" class={cellClass(as)}>
                  {title}
                </th>
              ))}
            </tr>
          </thead>
        )}
        <tbody>
          {table.rows.map((row, k) =>
            row.kind === "day" ? (
              <tr key={`${k} ${row.text}`} class="day">
                <td colSpan={table.columns.length}>{row.text}</td>
              </tr>
            ) : (
              <tr key={`${k} ${row.cells.join(" ")}`}>
                {row.cells.map((lines, i) => (
                  <td key={table.columns[i]!.key} class={cellClass(table.columns[i]!.as)}>
                    <CellText as={table.columns[i]!.as} lines={lines} />
                  </td>
                ))}
              </tr>
            ),
          )}
        </tbody>
      </table>
    </>
  );
}

/** Labels: the first column is the name, the second a line under it, the rest named figures. */
function Cards({ table }: { table: LaidTable }) {
  return (
    <div class="cards">
      {table.rows.map((row, k) => {
        if (row.kind === "day") return null;
        const [name, item, ...rest] = row.cells.map((lines) => lines.join(" "));
        return (
          <article key={`${k} ${item}`}>
            <h3>{name}</h3>
            <p>{item}</p>
            <dl>
              {rest.map((text, i) => {
                if (text === "") return null;
                const { key, title, as } = table.columns[i + 2]!;
                // The weekday goes up to the title, so that four times stand side by side.
                const [, weekday, time] = as === "clock" ? (/^([A-Z][a-z]{2}) (.*)$/.exec(text) ?? []) : [];
                return (
                  <div key={key} class={as === "clock" ? "clock" : undefined}>
                    <dt>{weekday === undefined ? title : `${title} ${weekday}`}</dt>
                    <dd>{time ?? text}</dd>
                  </div>
                );
              })}
            </dl>
          </article>
        );
      })}
    </div>
  );
}

function DrawingView({ drawing }: { drawing: Drawing }) {
  const { widthMm, depthMm } = drawing;
  const scale = Math.min(DRAWING_HEIGHT_MM / depthMm, 88 / widthMm);
  return (
    <figure>
      <svg
        viewBox={`-10 -10 ${widthMm + 20} ${depthMm + 20}`}
        style={{ width: `${(widthMm * scale).toFixed(1)}mm`, height: `${(depthMm * scale).toFixed(1)}mm` }}
        role="img"
        aria-label={`Positions of ${drawing.title}, door at the bottom`}
      >
        <rect class="edge" width={widthMm} height={depthMm} />
        {drawing.places.map(({ label, xMm, yMm, widthMm: w, depthMm: d }) => {
          // The origin of a layout is front left; on paper the front is at the bottom.
          const y = depthMm - yMm - d;
          return (
            <g key={`${xMm} ${yMm}`}>
              <rect x={xMm} y={y} width={w} height={d} />
              <text x={xMm + w / 2} y={y + d / 2}>
                {label}
              </text>
            </g>
          );
        })}
      </svg>
      <figcaption>{drawing.title}, door at the bottom</figcaption>
    </figure>
  );
}

function Lines({ texts, kind }: { texts: readonly string[]; kind: string }) {
  if (texts.length === 0) return null;
  return (
    <ul class={kind}>
      {texts.map((text) => (
        <li key={text}>{text}</li>
      ))}
    </ul>
  );
}

function PageView({ page, formatter, foot }: { page: Page; formatter: Formatter; foot: string }) {
  const { sheet } = page;
  return (
    <section class="page" aria-label={`${sheet.title}, ${sheet.subtitle}`}>
      <header>
        <div>
          <h1>{sheet.title}</h1>
          <p>{sheet.subtitle}</p>
        </div>
        <div class="where">
          <strong>{sheet.siteName}</strong>
          <br />
          {formatter.day(sheet.from)}
          <br />
          {page.of > 1 ? `page ${page.number} of ${page.of}` : ""}
        </div>
      </header>
      {page.facts.length > 0 && (
        <dl class="facts">
          {page.facts.map(({ fact, text }) => (
            <div
              key={fact.label}
              style={{ width: `${factWidthMm(fact, text).toFixed(1)}mm`, height: `${factHeightMm(page.facts)}mm` }}
            >
              <dt>{fact.label}</dt>
              <dd>
                {text === "" ? "\u00a0" : text}
                {fact.note !== undefined && <small style={{ fontWeight: "400" }}>{fact.note}</small>}
              </dd>
            </div>
          ))}
        </dl>
      )}
      {page.tables.map((table) =>
        table.shape === "cards" ? (
          <Cards key={table.id} table={table} />
        ) : (
          <LaidTableView key={table.id} table={table} pt={page.pt} />
        ),
      )}
      {page.hasDrawings && (
        <div class="drawings">
          {sheet.drawings.map((drawing) => (
            <DrawingView key={drawing.title} drawing={drawing} />
          ))}
        </div>
      )}
      {sheet.allergens !== null && <p class="allergens">{allergensText(sheet.allergens)}</p>}
      <Lines kind="cautions" texts={sheet.cautions.map((caution) => CAUTIONS[caution])} />
      <Lines kind="notes" texts={sheet.notes} />
      <footer>
        {foot} <span>{sheet.id}</span>
      </footer>
    </section>
  );
}

export function SheetPages({
  day,
  timetable,
  pages,
}: {
  day: DayDocuments;
  timetable: Timetable;
  pages: readonly Page[];
}) {
  const { jurisdiction } = day.settings;
  const foot = `${COMES_FIRST} ${ONLY_COMPUTED}${jurisdiction === undefined ? "" : ` Limits entered for: ${jurisdiction}.`}`;
  return (
    <>
      {pages.map((page) => (
        <PageView
          key={`${page.sheet.id} ${page.number}`}
          page={page}
          formatter={formatterOf(day, timetable, page.sheet)}
          foot={foot}
        />
      ))}
    </>
  );
}
