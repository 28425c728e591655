import { randomBytes } from "node:crypto";
import { mkdir, readFile, rename, rm, stat, writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import type { DayDocuments, DocumentName, Issue, IssueCode, Scenario, Timetable } from "../schemas/index.js";
import { parseJson, validateDocument } from "../schemas/validate.js";
import { checkDay } from "../solver/check/index.js";
import { type CsvOrders, checkWithWholeLines, placed, readCsvOrders } from "./csv-orders.js";

const MOST_BYTES = 64 * 1024 * 1024;
const IN_FORCE = "timetable-in-force.json";

function issue(code: IssueCode, document: DocumentName, message: string, fix: string): Issue {
  return { code, document, pointer: "", message, fix };
}

type ReadText = { readonly text: string } | { readonly missing: true } | { readonly issues: Issue[] };

async function readText(path: string, document: DocumentName): Promise<ReadText> {
  let bytes: Buffer;
  try {
    const info = await stat(path);
    if (info.size > MOST_BYTES)
      return {
        issues: [issue("file-too-big", document, `${path} is ${info.size} bytes.`, "A document may have 64 MB.")],
      };
    bytes = await readFile(path);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code ?? "unknown";
    if (code === "ENOENT") return { missing: true };
    return {
      issues: [
        issue(
          "file-unreadable",
          document,
          `${path} cannot be read (${code}).`,
          "Check that it is a file and that you may read it.",
        ),
      ],
    };
  }
  try {
    return { text: new TextDecoder("utf-8", { fatal: true }).decode(bytes) };
  } catch {
    return { issues: [issue("file-unreadable", document, `${path} is not UTF-8 text.`, "Save it again as UTF-8.")] };
  }
}

type Read<T> = { readonly value: T | undefined; readonly issues: Issue[] };

async function readJson<T>(path: string, document: DocumentName, needed: boolean): Promise<Read<T>> {
  const read = await readText(path, document);
  if ("issues" in read) return { value: undefined, issues: read.issues };
  if ("missing" in read)
    return {
      value: undefined,
      issues: needed
        ? [
            issue(
              "file-missing",
              document,
              document === "orders" ? `${path} is missing, and orders.csv too.` : `${path} is missing.`,
              "Add the document; see the README for what a day folder holds.",
            ),
          ]
        : [],
    };
  const parsed = parseJson(document, read.text);
  if ("issues" in parsed) return { value: undefined, issues: parsed.issues };
  const issues = validateDocument(document, parsed.value);
  return { value: issues.length === 0 ? (parsed.value as T) : undefined, issues };
}

interface OrdersRead extends Read<DayDocuments["orders"]> {
  readonly csv?: CsvOrders;
}

async function readOrders(folder: string): Promise<OrdersRead> {
  const csv = await readText(join(folder, "orders.csv"), "orders");
  if ("issues" in csv) return { value: undefined, issues: csv.issues };
  const json = await readJson<DayDocuments["orders"]>(join(folder, "orders.json"), "orders", "missing" in csv);
  if ("missing" in csv) return json;
  if (json.value !== undefined || json.issues.length > 0) {
    return {
      value: undefined,
      issues: [issue("orders-twice", "orders", `${folder} holds orders.json and orders.csv.`, "Keep one of them.")],
    };
  }
  const read = readCsvOrders(csv.text);
  return { value: read.issues.length === 0 ? read.orders : undefined, issues: [...read.issues], csv: read };
}

/**
 * Reads and checks a day folder: network.json, catalogue.json, orders.json or orders.csv, settings.json, and if there happenings.json and
 * timetable-in-force.json. All issues of all documents come back at once; a day only when there are none.
 */
export async function readDayFolder(folder: string): Promise<{ day: DayDocuments } | { issues: Issue[] }> {
  try {
    if (!(await stat(folder)).isDirectory())
      return {
        issues: [
          issue(
            "folder-missing",
            "settings",
            `${folder} is not a folder.`,
            "Give the folder that holds network.json, catalogue.json, orders and settings.json.",
          ),
        ],
      };
  } catch {
    return {
      issues: [
        issue(
          "folder-missing",
          "settings",
          `There is no folder ${folder}.`,
          "Give the folder that holds network.json, catalogue.json, orders and settings.json.",
        ),
      ],
    };
  }
  const [network, catalogue, orders, happenings, settings, inForce] = await Promise.all([
    readJson<DayDocuments["network"]>(join(folder, "network.json"), "network", true),
    readJson<DayDocuments["catalogue"]>(join(folder, "catalogue.json"), "catalogue", true),
    readOrders(folder),
    readJson<DayDocuments["happenings"]>(join(folder, "happenings.json"), "happenings", false),
    readJson<DayDocuments["settings"]>(join(folder, "settings.json"), "settings", true),
    readJson<Timetable>(join(folder, IN_FORCE), "timetable", false),
  ]);
  const issues = [network, catalogue, orders, happenings, settings, inForce].flatMap((read) => read.issues);
  const isOnlyOrders = issues.length === orders.issues.length;
  if (!isOnlyOrders || !network.value || !catalogue.value || !settings.value) return { issues };
  const others: Omit<DayDocuments, "orders"> = {
    network: network.value,
    catalogue: catalogue.value,
    happenings: happenings.value ?? { format: "happenings/1", happenings: [] },
    settings: settings.value,
    ...(inForce.value ? { inForce: inForce.value } : {}),
  };
  if (!orders.value) return { issues: [...issues, ...(orders.csv ? checkWithWholeLines(others, orders.csv) : [])] };
  const day: DayDocuments = { ...others, orders: orders.value };
  const crossIssues = checkDay(day).map((found) => placed(found, orders.csv?.places));
  return crossIssues.length > 0 ? { issues: crossIssues } : { day };
}

/** Reads a timetable document by its schema. */
export async function readTimetable(path: string): Promise<{ timetable: Timetable } | { issues: Issue[] }> {
  const read = await readJson<Timetable>(path, "timetable", true);
  return read.value ? { timetable: read.value } : { issues: read.issues };
}

/** Reads a scenario document by its schema. */
export async function readScenarioFile(path: string): Promise<{ scenario: Scenario } | { issues: Issue[] }> {
  const read = await readJson<Scenario>(path, "scenario", true);
  return read.value ? { scenario: read.value } : { issues: read.issues };
}

/** Writes a file whole or not at all: beside it first, then put in its place. */
export async function writeAtomically(path: string, text: string): Promise<void> {
  await mkdir(dirname(path), { recursive: true });
  const beside = `${path}.${randomBytes(6).toString("hex")}.part`;
  try {
    await writeFile(beside, text, { encoding: "utf8", flag: "wx" });
    await rename(beside, path);
  } catch (error) {
    await rm(beside, { force: true });
    throw error;
  }
}
