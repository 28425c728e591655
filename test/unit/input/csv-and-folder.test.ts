import { cp, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { readOrdersCsv, writeOrdersCsv } from "../../../schemas/csv.js";
import { ISSUE_CODES, type Issue, type IssueCode, type OrderLine } from "../../../schemas/index.js";
import { parseJson, validateDocument } from "../../../schemas/validate.js";
import { readDayFolder, readTimetable, writeAtomically } from "../../../services/day-folder.js";
import { checkDay } from "../../../solver/check/index.js";
import { CROSS, SCHEMA } from "./broken-table.js";

const HEADER = "id,product,pieces,site,due,priority,freshWithinMinutes,madeAt,customer";
const ROW = "line-1,plain-ring,12,weir-yard,2026-11-27T06:00,1,,,Early round";

/** Source of the CSV rules: RFC 4180 (quotes, CRLF, header). */
const BROKEN_CSV: readonly (readonly [string, string, IssueCode, number, number])[] = [
  ["", "an empty file", "csv-empty", 1, 1],
  [`${HEADER.replace("pieces", "peices")}\n${ROW}`, "a misspelt column", "csv-unknown-column", 1, 3],
  [`${HEADER.replace("pieces", "peices")}\n${ROW}`, "and so one that is missing", "csv-missing-column", 1, 10],
  [`${HEADER},id\n${ROW},x`, "a column twice", "csv-duplicate-column", 1, 10],
  [`${HEADER}\nline-1,plain-ring,12`, "a short row", "csv-cell-count", 2, 4],
  [`${HEADER}\n${ROW},more`, "a long row", "csv-cell-count", 2, 10],
  [`${HEADER}\n${ROW.replace("12", "")}`, "no pieces", "csv-empty-cell", 2, 3],
  [`${HEADER}\n${ROW}\n${ROW.replace("12", "a dozen")}`, "pieces in words", "csv-not-a-number", 3, 3],
  [`${HEADER}\n${ROW.replace("12", "1,2")}`, "a comma in a number", "csv-cell-count", 2, 10],
  [`${HEADER}\n${ROW.replace("12", "0x10")}`, "a hexadecimal number", "csv-not-a-number", 2, 3],
  [`${HEADER}\n${ROW.replace("12", "1.000")}`, "a thousand, or one", "csv-not-a-number", 2, 3],
  [`${HEADER}\n"line-1,plain-ring`, "an open quote", "csv-quoting", 2, 1],
  [`${HEADER}\n${ROW}`.replaceAll(",", ";"), "semicolons for commas", "csv-separator", 1, 3],
  [`${HEADER}\n${ROW}`.replaceAll(",", "\t"), "tabs for commas", "csv-separator", 1, 3],
];

/** Issues of the schema and of the other documents, told at the line and column of the CSV file. */
const BROKEN_CSV_DAYS: readonly (readonly [string, IssueCode, string, number, number])[] = [
  [ROW.replace("12", "0"), "out-of-range", "/lines/0/pieces", 2, 3],
  [ROW.replace("12", "1.5"), "wrong-type", "/lines/0/pieces", 2, 3],
  [ROW.replace("2026-11-27T06:00", "6 am"), "bad-pattern", "/lines/0/due", 2, 5],
  [ROW.replace("line-1", "LINE 1"), "bad-pattern", "/lines/0/id", 2, 1],
  [`${ROW}\n${ROW}`, "duplicate-id", "/lines/1/id", 3, 1],
  [ROW.replace("plain-ring", "unicorn"), "unknown-product", "/lines/0/product", 2, 2],
  [ROW.replace("weir-yard", "moon"), "unknown-site", "/lines/0/site", 2, 4],
  [ROW.replace("2026-11-27", "2026-12-27"), "due-outside-window", "/lines/0/due", 2, 5],
];

const produced = new Set<IssueCode>();
let folder: string;

function note(issues: readonly Issue[]): readonly Issue[] {
  for (const issue of issues) produced.add(issue.code);
  return issues;
}

async function readIssues(dir: string): Promise<readonly Issue[]> {
  const read = await readDayFolder(dir);
  return note("issues" in read ? read.issues : []);
}

async function copyOfDemo(): Promise<string> {
  const dir = await mkdtemp(join(folder, "day-"));
  await cp("services/demo/ordinary-day", dir, { recursive: true });
  return dir;
}

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "deckshelf-test-"));
});
afterAll(async () => {
  await rm(folder, { recursive: true, force: true });
});

describe("orders as CSV", () => {
  it.each(BROKEN_CSV)("%j (%s): %s at line %i, column %i", (text, _name, code, line, column) => {
    const { issues } = readOrdersCsv(text);
    note(issues);
    expect(issues.map((issue) => [issue.code, issue.line, issue.column])).toContainEqual([code, line, column]);
  });

  it.each(BROKEN_CSV_DAYS)("%j: %s at %s, line %i, column %i", async (rows, code, pointer, line, column) => {
    const dir = await copyOfDemo();
    await writeFile(join(dir, "orders.csv"), `${HEADER}\n${rows}\n`);
    const issues = await readIssues(dir);
    expect(issues.map((issue) => [issue.code, issue.pointer, issue.line, issue.column])).toContainEqual([
      code,
      pointer,
      line,
      column,
    ]);
  });

  it("another separator is one problem, not one for each cell", () => {
    const { issues } = readOrdersCsv(`${HEADER}\n${ROW}\n${ROW},"Inn, ""The"" old"`.replaceAll(",", ";"));
    expect(issues.map(({ code, message }) => [code, message])).toEqual([
      ["csv-separator", "The cells are separated by semicolons; in orders.csv they must be separated by commas."],
    ]);
  });

  it("a cell that is no number hides no other problem, of its line, of others, or of another document", async () => {
    const dir = await copyOfDemo();
    const rows = [
      ROW.replace("12", "a dozen").replace("2026-11-27T06:00", "6 am"),
      ROW.replace("line-1", "line-2").replace("plain-ring", "unicorn"),
      ROW.replace("line-1", "line-3").replace("12", ""),
      ROW.replace("line-1", "line-4").replace("12", "1,2"),
      ROW.replace("line-1", "line-5").replace("2026-11-27", "2026-12-27"),
    ];
    await writeFile(join(dir, "orders.csv"), `${HEADER}\n${rows.join("\n")}\n`);
    const told = (await readIssues(dir)).map(({ code, pointer, line }) => [code, pointer, line]);
    expect(told).toEqual([
      ["csv-not-a-number", "/lines/0/pieces", 2],
      ["bad-pattern", "/lines/0/due", 2],
      ["csv-empty-cell", "/lines/2/pieces", 4],
      ["csv-cell-count", "/lines/3", 5],
      ["unknown-product", "/lines/1/product", 3],
      ["due-outside-window", "/lines/4/due", 6],
    ]);
    const settings = JSON.parse(await readFile(join(dir, "settings.json"), "utf8"));
    await writeFile(join(dir, "settings.json"), JSON.stringify({ ...settings, format: "settings/9" }));
    const codes = (await readIssues(dir)).map(({ document, code }) => `${document} ${code}`);
    expect(codes).toContain("settings wrong-format");
    expect(codes).toContain("orders csv-not-a-number");
  });

  it("takes a byte-order mark, CRLF, quotes, blank lines and columns in any order", () => {
    const text =
      '\uFEFFdue,site,pieces,product,id,customer\r\n2026-11-27T06:00,weir-yard,12,plain-ring,line-1,"Inn, ""The"" old"\r\n\r\n';
    const { orders, issues } = readOrdersCsv(text);
    expect(issues).toEqual([]);
    expect(orders.lines).toEqual([
      {
        due: "2026-11-27T06:00",
        site: "weir-yard",
        pieces: 12,
        product: "plain-ring",
        id: "line-1",
        customer: 'Inn, "The" old',
      },
    ]);
  });

  it("comes back the same from what was written, whatever a customer is called", () => {
    const name = fc
      .string({ minLength: 1, maxLength: 30, unit: "grapheme" })
      .filter((text) => text.trim() === text && text !== "");
    fc.assert(
      fc.property(
        fc.array(fc.record({ pieces: fc.integer({ min: 1, max: 999 }), customer: name }), { maxLength: 8 }),
        (some) => {
          const lines: OrderLine[] = some.map((each, i) => ({
            id: `line-${i}`,
            product: "p",
            site: "s",
            due: "2026-11-27T06:00",
            ...each,
          }));
          const { orders, issues } = readOrdersCsv(writeOrdersCsv({ format: "orders/1", lines }));
          expect(issues).toEqual([]);
          expect(orders.lines).toEqual(lines);
        },
      ),
      { seed: 11, numRuns: 300 },
    );
  });

  it("guards cells that a spreadsheet would take for a formula", () => {
    const text = writeOrdersCsv({
      format: "orders/1",
      lines: [{ id: "a", product: "p", pieces: 1, site: "s", due: "d", customer: "=1+1" }],
    });
    expect(text).toContain(",'=1+1");
  });
});

describe("day folders", () => {
  it("must be there", async () => {
    expect((await readIssues(join(folder, "nowhere"))).map((issue) => issue.code)).toEqual(["folder-missing"]);
  });

  it("lack documents: each is told", async () => {
    const dir = await mkdtemp(join(folder, "empty-"));
    const issues = await readIssues(dir);
    expect(issues.map((issue) => `${issue.code} ${issue.document}`)).toEqual(
      ["network", "catalogue", "orders", "settings"].map((document) => `file-missing ${document}`),
    );
  });

  it("hold orders once only", async () => {
    const dir = await copyOfDemo();
    await writeFile(join(dir, "orders.json"), '{"format":"orders/1","lines":[]}');
    expect((await readIssues(dir)).map((issue) => issue.code)).toEqual(["orders-twice"]);
  });

  it("with broken JSON say where, and still tell of the other documents", async () => {
    const dir = await copyOfDemo();
    await writeFile(join(dir, "settings.json"), '{\n  "format": "settings/1",\n  "name": oops\n}');
    await writeFile(join(dir, "happenings.json"), '{"format":"happenings/1"}');
    const issues = await readIssues(dir);
    expect(issues.map((issue) => [issue.code, issue.document, issue.line])).toEqual([
      ["missing-field", "happenings", undefined],
      ["not-json", "settings", 3],
    ]);
  });

  it("with bytes that are not UTF-8 or a folder for a file are told so", async () => {
    const dir = await copyOfDemo();
    await writeFile(join(dir, "network.json"), Buffer.from([0xff, 0xfe, 0x00, 0x7b]));
    expect((await readIssues(dir)).map((issue) => issue.code)).toEqual(["file-unreadable"]);
  });

  it("a timetable that is none is told", async () => {
    const path = join(folder, "none.json");
    await writeFile(path, '{"format":"timetable/1"}');
    const read = await readTimetable(path);
    expect("issues" in read && read.issues.length).toBeGreaterThan(5);
  });
});

describe("writing", () => {
  it("leaves the old file and no part when it cannot be finished", async () => {
    const dir = await mkdtemp(join(folder, "write-"));
    const path = join(dir, "timetable.json");
    await writeAtomically(path, "first");
    await expect(writeAtomically(join(path, "below-a-file", "x.json"), "second")).rejects.toThrow();
    expect(await readFile(path, "utf8")).toBe("first");
    expect(await readdir(dir)).toEqual(["timetable.json"]);
  });
});

const TOLD_ELSEWHERE: readonly IssueCode[] = [
  "too-stiff-for-mixers",
  "unknown-task",
  "unknown-batch",
  "unknown-load",
  "instant-missing",
  "told-too-soon",
  "told-outside-day",
  "reports-contradict",
  "unknown-route",
  "unknown-step",
];

describe("codes", () => {
  it("are each produced by a test, and each known", () => {
    for (const broken of [...SCHEMA, ...CROSS]) produced.add(broken[3]);
    // Told by tests of their own in broken-days.test.ts, and in repair/changed-documents.test.ts.
    for (const code of TOLD_ELSEWHERE) produced.add(code);
    const needsA64MbFile: IssueCode = "file-too-big";
    const missing = Object.keys(ISSUE_CODES).filter(
      (code) => code !== needsA64MbFile && !produced.has(code as IssueCode),
    );
    expect(missing).toEqual([]);
  });
});

describe("random damage", () => {
  it("is never answered with a crash", async () => {
    const read = await readDayFolder("services/demo/ordinary-day");
    if ("issues" in read) throw new Error("the demo is broken");
    const names = ["network", "catalogue", "orders", "happenings", "settings"] as const;
    fc.assert(
      fc.property(
        fc.constantFrom(...names),
        fc.array(fc.nat(40), { minLength: 1, maxLength: 6 }),
        fc.jsonValue(),
        (name, path, junk) => {
          const day = structuredClone(read.day) as unknown as Record<string, unknown>;
          let at = day as Record<string, unknown>;
          let key: string = name;
          for (const step of path) {
            const next = at[key];
            if (next === null || typeof next !== "object") break;
            const keys = Object.keys(next);
            if (keys.length === 0) break;
            at = next as Record<string, unknown>;
            key = keys[step % keys.length]!;
          }
          at[key] = junk;
          const issues = validateDocument(name, day[name]);
          if (issues.length === 0) checkDay(day as never);
        },
      ),
      { seed: 5, numRuns: 250 },
    );
    expect(parseJson("orders", "{")).toMatchObject({ issues: [{ code: "not-json", line: 1, column: 2 }] });
  });
});
