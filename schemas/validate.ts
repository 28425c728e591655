import type { ErrorObject, ValidateFunction } from "ajv/dist/2020.js";
import { type ParseError, parse as parseTolerant, printParseErrorCode } from "jsonc-parser";
import * as documents from "./documents.js";
import type { DocumentName, Issue, IssueCode } from "./index.js";
import { MOST_ISSUES } from "./most-issues.js";

type Validators = Readonly<Record<string, ValidateFunction>>;

/** Compiled by the build; from the sources, where there are none, when they are first asked. A program that asks once would spend half a second on it. */
const built = (await import(new URL("./validators.js", import.meta.url).href).catch(() => null)) as Validators | null;
const ajv = built ? null : (await import("./compiler.js")).compiler();

function validatorOf(name: DocumentName): ValidateFunction {
  return built?.[name] ?? (ajv!.getSchema(`${name}.schema.json`) as ValidateFunction);
}

const SHOWN_CHARACTERS = 60;

/** As much of a value as can be shown, however much there is of it. */
function brief(): (key: string, part: unknown) => unknown {
  // Each comes to a character at the least.
  let left = SHOWN_CHARACTERS;
  return (_, part) => {
    if (left-- <= 0) return undefined;
    if (typeof part === "string") return part.slice(0, SHOWN_CHARACTERS);
    if (Array.isArray(part)) return part.slice(0, SHOWN_CHARACTERS);
    if (typeof part !== "object" || part === null) return part;
    const some: Record<string, unknown> = {};
    let count = 0;
    for (const key in part) {
      if (count++ === SHOWN_CHARACTERS) break;
      some[key] = (part as Record<string, unknown>)[key];
    }
    return some;
  };
}

/** A value as it is shown in a message: short, quoted. */
function shown(value: unknown): string {
  const text = JSON.stringify(value, brief()) ?? String(value);
  return text.length > SHOWN_CHARACTERS ? `${text.slice(0, SHOWN_CHARACTERS - 3)}...` : text;
}

function distance(a: string, b: string): number {
  const row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    let diagonal = row[0]!;
    row[0] = i;
    for (let j = 1; j <= b.length; j++) {
      const above = row[j]!;
      row[j] = Math.min(above + 1, row[j - 1]! + 1, diagonal + (a[i - 1] === b[j - 1] ? 0 : 1));
      diagonal = above;
    }
  }
  return row[b.length]!;
}

/** The known name that was most likely meant, if one is near. */
export function nearest(name: string, known: readonly string[]): string | undefined {
  const ranked = known
    .map((candidate) => ({ candidate, d: distance(name.toLowerCase(), candidate.toLowerCase()) }))
    .sort((a, b) => a.d - b.d);
  const best = ranked[0];
  return best && best.d <= Math.max(2, Math.floor(name.length / 3)) ? best.candidate : undefined;
}

interface Told {
  readonly code: IssueCode;
  readonly pointer: string;
  readonly message: string;
  readonly fix: string;
}

function escapePointer(name: string): string {
  return name.replaceAll("~", "~0").replaceAll("/", "~1");
}

const NAMES_OF_TYPES: Record<string, string> = {
  object: "an object { ... }",
  array: "a list [ ... ]",
  string: "text in quotes",
  integer: "a whole number",
  number: "a number",
  boolean: "true or false",
};

/** The values of the tag that the branches of a tagged union allow. */
function kindsOf(error: ErrorObject, tag: string): unknown[] {
  const branches = (error.parentSchema?.oneOf ?? []) as { $ref?: string }[];
  return branches.flatMap(({ $ref }) => {
    const name = $ref?.split("/").at(-1) ?? "";
    for (const schema of Object.values(documents)) {
      const definition = (
        schema.$defs as Record<string, { properties?: Record<string, { const?: unknown; enum?: readonly unknown[] }> }>
      )[name];
      const property = definition?.properties?.[tag];
      if (property) return property.enum ? [...property.enum] : [property.const];
    }
    return [];
  });
}

/** One message for each keyword of JSON Schema that our schemas use. */
function tell(error: ErrorObject): Told {
  const pointer = error.instancePath;
  const { params } = error;
  const value = error.keyword === "required" || error.keyword === "additionalProperties" ? "" : shown(error.data);
  switch (error.keyword) {
    case "required": {
      const field = String(params.missingProperty);
      return {
        code: "missing-field",
        pointer: `${pointer}/${escapePointer(field)}`,
        message: `${field} is missing.`,
        fix: `Add ${field}${describe(error, field)}.`,
      };
    }
    case "additionalProperties": {
      const field = String(params.additionalProperty);
      const known = Object.keys((error.parentSchema?.properties as object | undefined) ?? {});
      const meant = nearest(field, known);
      const fix = meant ? `Did you mean ${meant}? Otherwise remove it.` : `Remove it; known here: ${known.join(", ")}.`;
      return {
        code: "unknown-field",
        pointer: `${pointer}/${escapePointer(field)}`,
        message: `${field} is not a known field.`,
        fix,
      };
    }
    case "type": {
      const wanted = NAMES_OF_TYPES[String(params.type)] ?? String(params.type);
      return { code: "wrong-type", pointer, message: `${value} is not ${wanted}.`, fix: `Write ${wanted}.` };
    }
    case "const":
      return {
        code: pointer === "/format" ? "wrong-format" : "not-allowed",
        pointer,
        message: `${value} is not ${shown(params.allowedValue)}.`,
        fix: `Write ${shown(params.allowedValue)}.`,
      };
    case "enum": {
      const allowed = params.allowedValues as unknown[];
      return {
        code: "not-allowed",
        pointer,
        message: `${value} is not allowed here.`,
        fix: `Use one of ${allowed.map(shown).join(", ")}.`,
      };
    }
    case "pattern":
      return {
        code: "bad-pattern",
        pointer,
        message: `${value} does not have the right form.`,
        fix: patternFix(error),
      };
    case "discriminator": {
      const tag = String(params.tag);
      if (params.tagValue === undefined) {
        return {
          code: "missing-field",
          pointer: `${pointer}/${tag}`,
          message: `${tag} is missing.`,
          fix: `Add ${tag}; it says which kind this is.`,
        };
      }
      return {
        code: "wrong-kind",
        pointer: `${pointer}/${tag}`,
        message: `${shown(params.tagValue)} is not a known ${tag}.`,
        fix: `Use one of ${kindsOf(error, tag).map(shown).join(", ")}.`,
      };
    }
    case "uniqueItems":
      return {
        code: "not-unique",
        pointer,
        message: `Entries ${params.i as number} and ${params.j as number} are the same.`,
        fix: "Remove one of them.",
      };
    case "minItems":
    case "minLength":
      return {
        code: "too-few",
        pointer,
        message: `${value} is too short.`,
        fix: `Give at least ${params.limit as number}.`,
      };
    case "maxItems":
    case "maxLength":
      return {
        code: "too-many",
        pointer,
        message: `${value} is too long.`,
        fix: `Give at most ${params.limit as number}.`,
      };
    default:
      return {
        code: "out-of-range",
        pointer,
        message: `${value} ${error.message ?? "is outside its limits"}.`,
        fix: `Keep to ${String(params.comparison ?? "")} ${String(params.limit ?? "")}.`,
      };
  }
}

function describe(error: ErrorObject, field: string): string {
  const schema = (
    error.parentSchema?.properties as Record<string, { description?: string; const?: unknown }> | undefined
  )?.[field];
  if (schema?.const !== undefined) return `: ${shown(schema.const)}`;
  return schema?.description ? ` (${schema.description.replace(/\.$/, "")})` : "";
}

function patternFix(error: ErrorObject): string {
  const description = error.parentSchema?.description;
  return typeof description === "string" ? description : `It must match ${String(error.params.pattern)}.`;
}

/** Everything that is wrong with one document by its schema; empty when nothing is. */
export function validateDocument(name: DocumentName, value: unknown): Issue[] {
  const validator = validatorOf(name);
  if (validator(value)) return [];
  const issues: Issue[] = [];
  const seen = new Set<string>();
  for (const error of validator.errors ?? []) {
    if (error.keyword === "oneOf" || error.keyword === "if") continue;
    const told = tell(error);
    const key = `${told.code} ${told.pointer}`;
    if (seen.has(key)) continue;
    seen.add(key);
    issues.push({ document: name, ...told });
    if (issues.length === MOST_ISSUES) break;
  }
  return issues;
}

/** Where and why text is not JSON; null when the parser finds no fault. */
function firstFault(text: string): { offset: number; what: string } | null {
  const errors: ParseError[] = [];
  parseTolerant(text, errors, { disallowComments: true, allowTrailingComma: false });
  const [first] = errors;
  if (!first) return null;
  const what = printParseErrorCode(first.error)
    .replaceAll(/(?<=[a-z])(?=[A-Z])/g, " ")
    .toLowerCase();
  return { offset: first.offset, what };
}

/** Parses JSON text; on a syntax error the issue names line and column. */
export function parseJson(name: DocumentName, text: string): { value: unknown } | { issues: Issue[] } {
  const body = text.replace(/^\uFEFF/, "");
  try {
    return { value: JSON.parse(body) };
  } catch {
    const fault = firstFault(body) ?? { offset: body.length, what: "unexpected end" };
    const before = body.slice(0, fault.offset).split("\n");
    return {
      issues: [
        {
          code: "not-json",
          document: name,
          pointer: "",
          line: before.length,
          column: before[before.length - 1]!.length + 1,
          message: `Not JSON: ${fault.what}.`,
          fix: "Look at this place for a missing comma, quote or bracket.",
        },
      ],
    };
  }
}
