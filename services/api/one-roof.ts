import * as documents from "../../schemas/documents.js";
import { API_DEFINITIONS } from "./schemas.js";

/** A schema with all its references to definitions under one root: names are unique, so a reference needs no file. */
export function underOneRoof<T>(schema: T, root: string): T {
  return JSON.parse(
    JSON.stringify(schema)
      .replaceAll(/"\$ref":"(?:[a-z]+\.schema\.json)?#\/\$defs\/(\w+)"/g, `"$ref":"${root}$1"`)
      .replaceAll(/"\$ref":"([a-z])([a-z]*)\.schema\.json"/g, (_, first: string, rest: string) => {
        return `"$ref":"${root}${first.toUpperCase()}${rest}"`;
      }),
  ) as T;
}

/** Every definition that a request or an answer may speak of, by name. */
export function allDefinitions(): Record<string, unknown> {
  const all: Record<string, unknown> = {};
  for (const { $defs } of Object.values(documents)) Object.assign(all, $defs);
  return Object.assign(all, API_DEFINITIONS);
}
