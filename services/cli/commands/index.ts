import type { Command } from "../command.js";
import { backup, restore } from "./backup.js";
import { balance } from "./balance.js";
import { calendar } from "./calendar.js";
import { check } from "./check.js";
import { compare } from "./compare.js";
import { draw } from "./draw.js";
import { drift } from "./drift.js";
import { headroom } from "./headroom.js";
import { hold } from "./hold.js";
import { limits } from "./limits.js";
import { remedies } from "./remedies.js";
import { repair } from "./repair.js";
import { replay } from "./replay.js";
import { sheets } from "./sheets.js";
import { token } from "./token.js";
import { verify } from "./verify.js";

/** Every command, in the order of the general help. */
export const COMMANDS: readonly Command[] = [
  draw,
  verify,
  check,
  repair,
  hold,
  drift,
  replay,
  sheets,
  calendar,
  limits,
  token,
  backup,
  restore,
  balance,
  headroom,
  remedies,
  compare,
];
