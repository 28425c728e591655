import { TROUBLE_SCHEMA } from "../marks/trouble.js";
import type { JsonSchema } from "../operations/operation.js";

/** Schemas of the API itself; documents have theirs in schemas/. All are components of the OpenAPI document. */
const id = { type: "string", pattern: "^[a-z0-9][a-z0-9-]{0,62}$" } as const;
const instant = { type: "string", format: "date-time" } as const;

export const PATH_PARAMETERS: Readonly<Record<string, JsonSchema>> = {
  day: { ...id, description: "The day's id." },
  document: {
    type: "string",
    enum: ["network", "catalogue", "orders", "happenings", "settings", "timetable"],
    description: "timetable: the one in force.",
  },
  version: { type: "string", pattern: "^[1-9][0-9]{0,8}$" },
  job: { type: "string", pattern: "^[0-9a-z]{26}(-[0-9]{1,3})?$" },
  mark: { type: "string", pattern: "^[0-9a-z]{26}$" },
  token: { type: "string", pattern: "^[0-9a-z]{26}$" },
  problem: { type: "string", pattern: "^[a-z-]{1,40}$" },
};

const API_SCHEMAS: Readonly<Record<string, JsonSchema>> = {
  Problem: {
    type: "object",
    description: "RFC 9457.",
    required: ["type", "title", "status", "detail"],
    properties: {
      type: { type: "string" },
      title: { type: "string" },
      status: { type: "integer" },
      detail: { type: "string" },
      errors: {
        type: "array",
        items: {
          type: "object",
          required: ["detail"],
          properties: {
            detail: { type: "string" },
            pointer: { type: "string", description: "RFC 6901." },
            parameter: { type: "string" },
            code: { type: "string" },
            document: { type: "string" },
            line: { type: "integer" },
            column: { type: "integer" },
            fix: { type: "string" },
          },
        },
      },
    },
  },
  Day: {
    type: "object",
    required: ["id", "versions", "change", "createdAt", "changedAt"],
    properties: {
      id,
      versions: {
        type: "object",
        description: "Of each document the version that holds now.",
        additionalProperties: { type: "integer", minimum: 1 },
      },
      change: { type: "integer", description: "Counts every change of the day; the day's ETag." },
      createdAt: instant,
      changedAt: instant,
      deleted: { type: "boolean" },
      life: {
        type: "integer",
        minimum: 1,
        description: "Of a day made under the id of a deleted one: tells its marks from that one's.",
      },
    },
  },
  Documents: {
    type: "object",
    additionalProperties: false,
    properties: {
      network: { $ref: "network.schema.json" },
      catalogue: { $ref: "catalogue.schema.json" },
      orders: { $ref: "orders.schema.json" },
      happenings: { $ref: "happenings.schema.json" },
      settings: { $ref: "settings.schema.json" },
      timetable: { $ref: "timetable.schema.json", description: "The timetable in force." },
    },
  },
  DayChanges: {
    type: "object",
    description: "Documents by name; those of a day that are not here stay as they are.",
    additionalProperties: false,
    properties: {
      network: { $ref: "network.schema.json" },
      catalogue: { $ref: "catalogue.schema.json" },
      orders: { $ref: "orders.schema.json" },
      happenings: { $ref: "happenings.schema.json" },
      settings: { $ref: "settings.schema.json" },
      timetable: {
        description: "The timetable in force; null: none is from now on.",
        anyOf: [{ $ref: "timetable.schema.json" }, { type: "null" }],
      },
    },
  },
  DayFiles: {
    type: "object",
    description: "The files of a day folder, each as its text; what is not here stays as it is.",
    additionalProperties: false,
    properties: {
      "network.json": { type: "string" },
      "catalogue.json": { type: "string" },
      "orders.csv": { type: "string", description: "RFC 4180; this or orders.json." },
      "orders.json": { type: "string" },
      "settings.json": { type: "string" },
      "happenings.json": { type: ["string", "null"], description: "null: nothing has happened." },
      "timetable-in-force.json": { type: ["string", "null"], description: "null: none is in force from now on." },
    },
  },
  Version: {
    type: "object",
    required: ["version", "at", "by", "bytes"],
    properties: {
      version: { type: "integer", minimum: 1 },
      at: instant,
      by: { type: "string" },
      note: { type: "string" },
      from: { type: "integer", description: "The version that was restored." },
      bytes: { type: "integer" },
    },
  },
  Job: {
    type: "object",
    required: ["id", "operation", "state", "attempt", "createdAt", "seconds"],
    properties: {
      id: { type: "string" },
      operation: { type: "string" },
      day: { type: "string" },
      versions: { type: "object", additionalProperties: { type: "integer" } },
      owner: { type: "string" },
      state: { enum: ["waiting", "running", "gathering", "done", "failed", "cancelled"] },
      attempt: { type: "integer" },
      turn: { type: "integer" },
      rank: { type: "integer" },
      seconds: { type: "number" },
      createdAt: instant,
      startedAt: instant,
      finishedAt: instant,
      stopped: { type: "boolean", description: "Somebody asked it to stop and keep what it had." },
      parent: { type: "string" },
      parts: { type: "array", items: { type: "string" } },
      fault: {
        type: "object",
        required: ["title", "detail"],
        properties: { title: { type: "string" }, detail: { type: "string" } },
      },
      figures: {
        type: "object",
        description: "Of the timetable that it made.",
        properties: {
          status: { type: "string" },
          cost: { type: "number" },
          bound: { type: "number" },
          onTime: { type: "integer" },
          late: { type: "integer" },
          short: { type: "integer" },
        },
      },
    },
  },
};

const tokenFields = {
  name: { type: "string", minLength: 1, maxLength: 60, description: "Whose it is; shown in histories." },
  role: { enum: ["viewer", "station", "planner", "owner"] },
  sites: { type: "array", items: id, maxItems: 50, description: "Sites that it may act for; all when missing." },
  limits: {
    type: "object",
    additionalProperties: false,
    properties: {
      jobs: { type: "integer", minimum: 0, maximum: 100_000, description: "Jobs that may wait or run at a time." },
      seconds: { type: "number", minimum: 0, maximum: 86_400, description: "Seconds that one job may search." },
    },
  },
  expiresAt: instant,
} as const;

const markFields = {
  task: { type: "string", minLength: 1, maxLength: 200 },
  what: { enum: ["started", "finished", "trouble"] },
  at: { ...instant, pattern: "^\\d{4}-\\d\\d-\\d\\dT\\d\\d:\\d\\d(:\\d\\d(\\.\\d{1,9})?)?(Z|[+-]\\d\\d:\\d\\d)$" },
  note: { type: "string", maxLength: 500 },
  trouble: TROUBLE_SCHEMA,
} as const;

const MORE_SCHEMAS: Readonly<Record<string, JsonSchema>> = {
  NewToken: { type: "object", additionalProperties: false, required: ["name", "role"], properties: tokenFields },
  Token: {
    type: "object",
    required: ["id", "name", "role", "createdAt"],
    properties: { id: { type: "string" }, ...tokenFields, createdAt: instant, rotatedAt: instant },
  },
  AuditEntry: {
    type: "object",
    required: ["id", "at", "by", "name", "action", "target"],
    properties: {
      id: { type: "string" },
      at: instant,
      by: { type: "string" },
      name: { type: "string" },
      action: { type: "string" },
      target: { type: "string" },
    },
  },
  NewMark: { type: "object", additionalProperties: false, required: ["task", "what", "at"], properties: markFields },
  Mark: {
    type: "object",
    required: ["id", "task", "site", "what", "at", "receivedAt", "by"],
    properties: {
      id: { type: "string" },
      site: id,
      ...markFields,
      receivedAt: instant,
      saidAt: { ...instant, description: "What the station's clock said, where it was ahead of the server's." },
      by: { type: "string" },
      version: { type: "integer", description: "Of the timetable that was in force." },
      plannedStart: instant,
      happening: {
        $ref: "happenings.schema.json#/$defs/Happening",
        description: "What it means for the day; none when it says nothing that a repair could use.",
      },
      setAside: {
        type: "object",
        required: ["at", "by"],
        properties: { at: instant, by: { type: "string" } },
        description: "It was a mistake, and does not count.",
      },
    },
  },
};

/** By name; no name is that of a definition of the documents. */
export const API_DEFINITIONS: Readonly<Record<string, JsonSchema>> = { ...API_SCHEMAS, ...MORE_SCHEMAS };

export const ref = (name: string): JsonSchema => ({ $ref: `api.schema.json#/$defs/${name}` });
