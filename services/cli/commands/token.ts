import { endToken, listTokens, makeToken, rotateToken } from "../../access/tokens.js";
import { ROLES, type Role } from "../../api/actor.js";
import { readConfig } from "../../operating/config.js";
import { Problem } from "../../problem.js";
import { transact } from "../../store/transact.js";
import { table } from "../../text/table.js";
import { UsageError } from "../arguments.js";
import { command } from "../command.js";
import { EXIT, jsonText, type Outcome } from "../outcome.js";

const ID = /^[a-z0-9][a-z0-9-]{0,62}$/;

function roleNamed(name: string | undefined): Role {
  if ((ROLES as readonly (string | undefined)[]).includes(name)) return name as Role;
  throw new UsageError(`--role must be one of ${ROLES.join(", ")}.`);
}

function good(stdout: string): Outcome {
  return { stdout, stderr: "", code: EXIT.good };
}

export const token = command({
  name: "token",
  summary: "make, list, rotate and end tokens of the server's store",
  operands: ["ACTION", "[NAME]"],
  options: {
    role: { kind: "text", label: "ROLE", help: "make: viewer, station, planner or owner" },
    site: { kind: "texts", label: "SITE", help: "make: only for this site; without it for all" },
    days: { kind: "number", label: "N", least: 1, most: 3650, isWhole: true, help: "make: ends after N days" },
    json: { kind: "flag", help: "print as JSON" },
  },
  about: `Works on the store itself (DECKSHELF_DATA, or REDIS_URL), so it needs no token. ACTION is make, list, rotate or end;
NAME is the new token's name (make) or a token's id (rotate, end). A token's text is printed once; the store has only its hash.`,
  examples: [
    "deckshelf token make office --role planner",
    "deckshelf token make bench-tablet --role station --site bridge",
    "deckshelf token list",
  ],
  async run({ operands, options }) {
    const [action, name] = operands as [string, string | undefined];
    if (action !== "list" && name === undefined) throw new UsageError(`token ${action} needs NAME.`);
    // Loaded only here: other commands need no store.
    const { openStore } = await import("../../store/open.js");
    const store = openStore(readConfig());
    const at = new Date().toISOString();
    try {
      switch (action) {
        case "make": {
          const role = roleNamed(options.role);
          for (const site of options.site) if (!ID.test(site)) throw new UsageError(`--site ${site} is no site's id.`);
          const { days, site } = options;
          const fresh = {
            name: name!,
            role,
            ...(site.length > 0 ? { sites: site } : {}),
            ...(days === undefined ? {} : { expiresAt: new Date(Date.now() + days * 86_400_000).toISOString() }),
          };
          const { value } = await transact(store, async (tx) => makeToken(tx, fresh, at));
          return good(options.json ? jsonText({ id: value.record.id, token: value.text }) : `${value.text}\n`);
        }
        case "rotate": {
          const { value } = await transact(store, (tx) => rotateToken(tx, name!, at));
          return good(options.json ? jsonText({ id: value.record.id, token: value.text }) : `${value.text}\n`);
        }
        case "end":
          await transact(store, (tx) => endToken(tx, name!));
          return good(options.json ? jsonText({}) : "It is over.\n");
        case "list": {
          const records = await listTokens(store);
          if (options.json) return good(jsonText(records.map(({ hash, ...rest }) => rest)));
          const rows = records.map((one) => [
            one.id,
            one.name,
            one.role,
            one.sites?.join(" ") ?? "all sites",
            one.expiresAt === undefined ? "" : `until ${one.expiresAt.slice(0, 10)}`,
          ]);
          return good(rows.length === 0 ? "There is no token.\n" : `${table(rows).join("\n")}\n`);
        }
        default:
          throw new UsageError(`ACTION must be make, list, rotate or end, not "${action}".`);
      }
    } catch (error) {
      if (error instanceof Problem) throw new UsageError(error.detail);
      throw error;
    } finally {
      await store.close();
    }
  },
});
