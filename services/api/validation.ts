import { Ajv2020, type ErrorObject, type ValidateFunction } from "ajv/dist/2020.js";
import type { JsonSchema } from "../operations/operation.js";
import { Problem, type ProblemError } from "../problem.js";
import { allDefinitions, underOneRoof } from "./one-roof.js";

const MOST_ERRORS = 50;
/** One file for all definitions: a reference into a file has ajv compile all that the file is about, a timetable for a wish, say. */
const ROOF = "all.schema.json";

function createAjv(coerceTypes: boolean): Ajv2020 {
  const ajv = new Ajv2020({
    strict: true,
    strictRequired: false,
    allErrors: false,
    discriminator: true,
    allowUnionTypes: true,
    coerceTypes,
    useDefaults: true,
    // The schemas are our own: a test holds them to JSON Schema, so that not every start has to.
    meta: false,
    validateSchema: false,
    // Half of the time to make a check would go into tidying its code, which runs on small bodies only.
    code: { optimize: false },
    formats: { "date-time": true },
  });
  ajv.addSchema({ $id: ROOF, $defs: underOneRoof(allDefinitions(), `${ROOF}#/$defs/`) });
  return ajv;
}

const exact = createAjv(false);
/** Query parameters are text: numbers are read from it. */
const fromText = createAjv(true);
const compiled = new WeakMap<JsonSchema, ValidateFunction>();

function validatorOf(ajv: Ajv2020, schema: JsonSchema): ValidateFunction {
  let validator = compiled.get(schema);
  if (!validator) {
    validator = ajv.compile(underOneRoof(schema, `${ROOF}#/$defs/`));
    compiled.set(schema, validator);
  }
  return validator;
}

function errorsOf(
  errors: readonly ErrorObject[],
  toError: (error: ErrorObject, text: string) => ProblemError,
): ProblemError[] {
  return errors.slice(0, MOST_ERRORS).map((error) => {
    const named = (error.params as { additionalProperty?: string }).additionalProperty;
    const text =
      named === undefined
        ? (error.message ?? error.keyword)
        : `${JSON.stringify(named.slice(0, 60))} is not known here`;
    return toError(error, text);
  });
}

/** Makes the checks of bodies before anybody sends one: the first use of a big schema would hold up everybody else for a third of a second. */
export function prepareChecks(schemas: readonly JsonSchema[]): void {
  for (const schema of schemas) validatorOf(exact, schema);
}

/** Throws a problem with a pointer for each thing that is wrong with a body. */
export function checkBody(schema: JsonSchema, value: unknown): void {
  const validator = validatorOf(exact, schema);
  if (validator(value)) return;
  const errors = errorsOf(validator.errors ?? [], (error, detail) => ({
    detail,
    pointer: error.instancePath,
    code: error.keyword,
  }));
  throw new Problem("bad-request", "The body does not have the form that this address takes.", { errors });
}

/** Reads query or path parameters by their schemas. */
export function readParameters(
  schemas: Readonly<Record<string, JsonSchema>>,
  given: Readonly<Record<string, unknown>>,
  schemaOfAll: JsonSchema,
): Record<string, unknown> {
  const values: Record<string, unknown> = {};
  for (const [name, value] of Object.entries(given)) {
    if (!Object.hasOwn(schemas, name))
      throw new Problem("bad-request", `There is no parameter ${JSON.stringify(name.slice(0, 60))} here.`, {
        errors: [{ detail: "not known here", parameter: name.slice(0, 60) }],
      });
    values[name] = value;
  }
  const validator = validatorOf(fromText, schemaOfAll);
  if (validator(values)) return values;
  const errors = errorsOf(validator.errors ?? [], (error, detail) => ({
    detail,
    parameter:
      error.instancePath.split("/")[1] ?? String((error.params as { missingProperty?: string }).missingProperty),
    code: error.keyword,
  }));
  throw new Problem("bad-request", "A parameter does not have the form that it must have.", { errors });
}

/** Bytes as text; a problem when they are no UTF-8. */
export function decoded(body: string | Uint8Array): string {
  if (typeof body === "string") return body;
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(body);
  } catch {
    throw new Problem("bad-request", "The body is not UTF-8 text.");
  }
}

/** JSON of a small body. */
export function parseSmall(text: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch (error) {
    throw new Problem("not-json", `${(error as Error).message}.`);
  }
}
