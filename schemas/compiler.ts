import { _, Ajv2020, Name } from "ajv/dist/2020.js";
import * as documents from "./documents.js";
import { MOST_ISSUES } from "./most-issues.js";

/** Several may come to one issue. */
const MOST_ERRORS = 10 * MOST_ISSUES;
/** A keyword of our own: with so many errors a list is not looked at further. Half a million wrong entries took a gigabyte and no end of time. */
const ENOUGH = "enough";

/** What compiles the schemas of all documents; with `source` it can also say what it makes of them as code. */
export function compiler(source = false): Ajv2020 {
  const ajv = new Ajv2020({
    strict: true,
    strictRequired: false,
    allErrors: true,
    discriminator: true,
    verbose: true,
    allowUnionTypes: true,
    ...(source ? { code: { source: true, esm: true } } : {}),
  });
  ajv.addKeyword({
    keyword: ENOUGH,
    schemaType: "boolean",
    // Inside the loop over a list's entries, whose count of errors goes by this name.
    code: ({ gen }) => gen.if(_`${new Name("errors")} > ${MOST_ERRORS}`, () => gen.break()),
  });
  for (const schema of Object.values(documents)) ajv.addSchema(patient(schema) as object);
  return ajv;
}

/** The schema with an end to each list that is wrong throughout. */
function patient(schema: unknown): unknown {
  if (typeof schema !== "object" || schema === null) return schema;
  if (Array.isArray(schema)) return schema.map(patient);
  return Object.fromEntries(
    Object.entries(schema).map(([keyword, value]) => {
      const same = patient(value);
      const isList = keyword === "items" && typeof same === "object";
      return [keyword, isList ? { ...same, [ENOUGH]: true } : same];
    }),
  );
}
