import { balance } from "./balance.js";
import { compare } from "./compare.js";
import { draw } from "./draw.js";
import { headroom } from "./headroom.js";
import { hold } from "./hold.js";
import { idle } from "./idle.js";
import type { Operation } from "./operation.js";
import { remedies } from "./remedies.js";
import { repair } from "./repair.js";
import { calendar, sheets } from "./sheets.js";
import { standing } from "./standing.js";
import { drift, replay } from "./sureness.js";
import { verify } from "./verify.js";

/** Everything that can be asked about a day. One file each; a line here puts it on the queue, over HTTP and into the documentation. */
export const OPERATIONS: readonly Operation[] = [
  balance,
  headroom,
  remedies,
  compare,
  draw,
  verify,
  repair,
  hold,
  drift,
  standing,
  replay,
  sheets,
  calendar,
  ...(process.env.DECKSHELF_IDLE === "on" ? [idle] : []),
];

const BY_NAME = new Map(OPERATIONS.map((operation) => [operation.name, operation]));

export function operationNamed(name: string): Operation | undefined {
  return BY_NAME.get(name);
}
