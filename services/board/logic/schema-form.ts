import * as documents from "../../../schemas/documents.js";

/** The part of JSON Schema 2020-12 that our documents use. */
export interface Schema {
  readonly $ref?: string;
  readonly type?: string;
  readonly const?: unknown;
  readonly enum?: readonly unknown[];
  readonly description?: string;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly required?: readonly string[];
  readonly items?: Schema;
  readonly oneOf?: readonly Schema[];
  readonly minimum?: number;
  readonly maximum?: number;
  readonly exclusiveMinimum?: number;
  readonly minItems?: number;
  readonly maxItems?: number;
  readonly maxLength?: number;
  readonly minLength?: number;
  readonly pattern?: string;
  readonly $defs?: Readonly<Record<string, Schema>>;
  readonly $id?: string;
}

const ROOTS = new Map((Object.values(documents) as unknown as Schema[]).map((schema) => [schema.$id!, schema]));

export interface Resolved {
  readonly schema: Schema;
  /** The document in which further #/$defs are looked up. */
  readonly root: Schema;
}

/** Follows references; a description beside a reference wins over the referred one. */
export function resolve(schema: Schema, root: Schema): Resolved {
  let at: Resolved = { schema, root };
  while (at.schema.$ref !== undefined) {
    const [file, pointer] = at.schema.$ref.split("#") as [string, string];
    const nextRoot = file === "" ? at.root : ROOTS.get(file);
    const name = pointer.replace(/^\/\$defs\//, "");
    const target = nextRoot?.$defs?.[name];
    if (!nextRoot || !target) throw new Error(`The schema refers to ${at.schema.$ref}, which is not there.`);
    const { $ref: _, ...beside } = at.schema;
    at = { schema: { ...target, ...beside }, root: nextRoot };
  }
  return at;
}

/** The schema of a document, or of a definition in it. */
export function schemaOf(document: string, definition?: string): Resolved {
  const root = ROOTS.get(`${document}.schema.json`)!;
  return definition === undefined ? resolve(root, root) : resolve(root.$defs![definition]!, root);
}

const UNITS: readonly [RegExp, string][] = [
  [/Mm$/, "mm"],
  [/Cm$/, "cm"],
  [/G$/, "g"],
  [/Kg$/, "kg"],
  [/[a-z]C$/, "°C"],
  [/CPerMinute$/, "°C a minute"],
  [/Percent$/, "%"],
  [/Minutes$|^minutes$/, "min"],
  [/Seconds$|^seconds$/, "s"],
  [/Kw$/, "kW"],
  [/W$/, "W"],
  [/M$/, "m"],
];
const UNIT_TAIL = /(Mm|Cm|Kg|G|C|Percent|Minutes|Seconds|Kw|W|M)$/;
const WORDS: Readonly<Record<string, string>> = {
  id: "Id",
  does: "Does",
  minutes: "Minutes",
  tempC: "Temperature",
  toTempC: "To",
  cpKjPerKgK: "Heat capacity, kJ/(kg K)",
  densityKgPerM3: "Density, kg/m³",
  conductivityWPerMK: "Conductivity, W/(m K)",
  filmWPerM2K: "Film coefficient, W/(m² K)",
  energyPricePerKwh: "Energy price a kWh",
  heatUpCPerMinute: "Heats up by",
  coolDownCPerMinute: "Cools down by",
  maxTempC: "Hottest",
  doughTempC: "After mixing",
  airTempC: "Air",
  roomTempC: "Room",
  coldWaterTempC: "Cold water",
  secondsPerPiece: "Seconds a piece",
  secondsPerPan: "Seconds a pan",
  secondsPerSide: "Seconds a side",
};

/** "clearHeightMm" reads as "Clear height, mm". */
export function labelOf(key: string): string {
  const known = WORDS[key];
  const unit = UNITS.find(([pattern]) => pattern.test(key))?.[1];
  if (known !== undefined) return unit && !known.includes(",") && key !== "minutes" ? `${known}, ${unit}` : known;
  const bare = unit ? key.replace(UNIT_TAIL, "") : key;
  const words = bare.replace(/([a-z0-9])([A-Z])/g, (_, a: string, b: string) => `${a} ${b.toLowerCase()}`);
  const text = `${words.charAt(0).toUpperCase()}${words.slice(1)}`;
  return unit ? `${text}, ${unit}` : text;
}

/** Which of several forms a value has: by the property that has a constant or list of its own in each. */
export function variantOf(options: readonly Schema[], root: Schema, value: unknown): number {
  const found = options.findIndex((option) => {
    const { schema } = resolve(option, root);
    return Object.entries(schema.properties ?? {}).every(([key, property]) => {
      const own = (value as Record<string, unknown> | undefined)?.[key];
      const { schema: one } = resolve(property, root);
      if (one.const !== undefined) return own === one.const;
      if (one.enum !== undefined && schema.required?.includes(key)) return one.enum.includes(own);
      return true;
    });
  });
  return Math.max(0, found);
}

/** A name for a form: its constant, or the words of its list. */
export function variantName(option: Schema, root: Schema): string {
  const { schema } = resolve(option, root);
  for (const property of Object.values(schema.properties ?? {})) {
    const { schema: one } = resolve(property, root);
    if (one.const !== undefined) return String(one.const);
    if (one.enum !== undefined) return one.enum.join(", ");
  }
  return "other";
}

/** A new value that fits the schema as far as it can be known: the needed properties with their least or plainest values. */
export function emptyOf(resolved: Resolved): unknown {
  const { schema, root } = resolved;
  if (schema.const !== undefined) return schema.const;
  if (schema.enum !== undefined) return schema.enum[0];
  if (schema.oneOf !== undefined) return emptyOf(resolve(schema.oneOf[0]!, root));
  switch (schema.type) {
    case "object": {
      const made: Record<string, unknown> = {};
      for (const key of schema.required ?? []) made[key] = emptyOf(resolve(schema.properties![key]!, root));
      return made;
    }
    case "array":
      return Array.from({ length: schema.minItems ?? 0 }, () => emptyOf(resolve(schema.items!, root)));
    case "integer":
      return schema.minimum ?? (schema.exclusiveMinimum === undefined ? 0 : schema.exclusiveMinimum + 1);
    case "number":
      return schema.minimum ?? (schema.exclusiveMinimum === undefined ? 0 : schema.exclusiveMinimum + 1);
    case "boolean":
      return false;
    default:
      return "";
  }
}

export type Path = readonly (string | number)[];

export function valueAt(value: unknown, path: Path): unknown {
  return path.reduce<unknown>((at, key) => (at as Record<string | number, unknown> | undefined)?.[key], value);
}

/** A copy with the value at a path replaced; undefined takes a property away. Nothing else is copied that need not be. */
export function withValue(value: unknown, path: Path, next: unknown): unknown {
  const [key, ...rest] = path;
  if (key === undefined) return next;
  if (Array.isArray(value)) {
    const copy = [...value];
    copy[key as number] = withValue(value[key as number], rest, next);
    return copy;
  }
  const copy: Record<string, unknown> = { ...(value as Record<string, unknown>) };
  const made = withValue(copy[key], rest, next);
  if (made === undefined) delete copy[key];
  else copy[key] = made;
  return copy;
}

/** RFC 6901. */
export function pointerOf(path: Path): string {
  return path.map((key) => `/${String(key).replaceAll("~", "~0").replaceAll("/", "~1")}`).join("");
}

/** Is a number inside what the schema allows? The words of what is wrong, else undefined. */
export function numberTrouble(schema: Schema, text: string): string | undefined {
  const value = Number(text);
  if (text.trim() === "" || Number.isNaN(value)) return "Give a number.";
  if (schema.type === "integer" && !Number.isInteger(value)) return "Give a whole number.";
  if (schema.minimum !== undefined && value < schema.minimum) return `At least ${schema.minimum}.`;
  if (schema.exclusiveMinimum !== undefined && value <= schema.exclusiveMinimum)
    return `More than ${schema.exclusiveMinimum}.`;
  if (schema.maximum !== undefined && value > schema.maximum) return `At most ${schema.maximum}.`;
  return undefined;
}
