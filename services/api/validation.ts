import { Ajv2020, type ErrorObject, type ValidateFunction } from "ajv/dist/2020.js";
import type { JsonSchema } from "../operations/operation.js";
import { Problem, type ProblemError } from "../problem.js";
import { ALL_SCHEMAS } from "./schemas.js";

const MOST_ERRORS = 50;

function createAjv(coerceTypes: boolean): Ajv2020 {
  const ajv = new Ajv2020({
    strict: true,
    strictRequired: false,
    allErrors: false,
    discriminator: true,
    allowUnionTypes: true,
    coerceTypes,
    useDefaults: true,
    formats: { "date-time": true },
  });
  for (const schema of ALL_SCHEMAS) ajv.addSchema(schema);
  return ajv;
}

const exact = createAjv(false);
/** Query parameters are text: numbers are read from it. */
const fromText = createAjv(true);
const compiled = new WeakMap<JsonSchema, ValidateFunction>();

function validatorOf(ajv: Ajv2020, schema: JsonSchema): ValidateFunction {
  let validator = compiled.get(schema);
  if (!validator) {
    validator = ajv.compile(schema);
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

/** JSON of a small body. */
export function parseSmall(text: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch (error) {
    throw new Problem("not-json", `${(error as Error).message}.`);
  }
}
