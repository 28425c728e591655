import type { Command } from "../command.js";
import { check } from "./check.js";
import { draw } from "./draw.js";
import { drift } from "./drift.js";
import { hold } from "./hold.js";
import { repair } from "./repair.js";
import { replay } from "./replay.js";
import { verify } from "./verify.js";

/** Every command, in the order of the general help. */
export const COMMANDS: readonly Command[] = [draw, verify, check, repair, hold, drift, replay];
