import { Ajv2020 } from "ajv/dist/2020.js";
import { describe, expect, it } from "vitest";
import * as documents from "../../../schemas/documents.js";
import { allDefinitions } from "../../../services/api/one-roof.js";
import { CHECKED_HERE, ROUTES } from "../../../services/api/routes/index.js";
import { checkBody, prepareChecks } from "../../../services/api/validation.js";
import { operationNamed } from "../../../services/operations/index.js";
import type { Problem } from "../../../services/problem.js";

/** The server makes its checks without asking whether the schemas are schemas. */
describe("schemas of the API", () => {
  it("are JSON Schema", () => {
    const ajv = new Ajv2020({ strict: false });
    const schemas = [
      ...Object.values(documents),
      ...Object.values(allDefinitions()),
      ...ROUTES.flatMap(({ body, answers }) => [
        ...(body?.kind === "json" ? [body.schema] : Object.values(body?.types ?? {})),
        ...Object.values(answers).flatMap(({ schema, types }) => [schema ?? {}, ...Object.values(types ?? {})]),
      ]),
    ];
    expect(schemas.length).toBeGreaterThan(100);
    for (const schema of schemas)
      expect(ajv.validateSchema(schema as object), `${JSON.stringify(schema).slice(0, 200)} ${ajv.errorsText()}`).toBe(
        true,
      );
  });

  it("have names of their own, so that one roof holds them all", () => {
    const files = Object.values(documents).flatMap(({ $defs }) => Object.keys($defs));
    expect(files.filter((name, i) => files.indexOf(name) !== i)).toEqual([]);
  });

  it("refuse a body with a pointer to what is wrong, also deep in another document's definitions", () => {
    prepareChecks(CHECKED_HERE);
    const { request } = operationNamed("compare")!;
    const fault = (body: unknown): Problem => {
      try {
        checkBody(request, body);
      } catch (error) {
        return error as Problem;
      }
      throw new Error("was accepted");
    };
    const scenario = { format: "scenario/1", name: "more", changes: [{ change: "nothing-known" }] };
    expect(fault({ scenarios: [scenario] }).more.errors![0]!.pointer).toMatch(/^\/scenarios\/0\/changes\/0/);
    expect(fault({ scenarios: [] }).more.errors![0]!.pointer).toBe("/scenarios");
  });
});
