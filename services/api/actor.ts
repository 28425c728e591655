import { Problem } from "../problem.js";

/** viewer reads; station also marks what happens at its sites; planner changes days and asks the solver; owner also has tokens, audit and backups. */
export type Role = "viewer" | "station" | "planner" | "owner";

export const ROLES: readonly Role[] = ["viewer", "station", "planner", "owner"];

/** Who asks. */
export interface Actor {
  /** Of the token; "local" when no token is needed. */
  readonly id: string;
  readonly name: string;
  readonly role: Role;
  /** Sites that it may act for; all when undefined. */
  readonly sites?: readonly string[];
  readonly limits: ActorLimits;
}

export interface ActorLimits {
  /** Jobs that may wait or run at a time. */
  readonly jobs: number;
  /** Seconds that one job may search. */
  readonly seconds: number;
}

export const DEFAULT_LIMITS: ActorLimits = { jobs: 2000, seconds: 3600 };

/** Whoever comes over loopback when no token was set up. */
export const LOCAL: Actor = { id: "local", name: "local", role: "owner", limits: DEFAULT_LIMITS };

export function isAtLeast(role: Role, least: Role): boolean {
  return ROLES.indexOf(role) >= ROLES.indexOf(least);
}

export function mustBe(actor: Actor, least: Role): void {
  if (!isAtLeast(actor.role, least))
    throw new Problem("not-allowed", `This needs the role ${least}; the token ${actor.name} is ${actor.role}.`);
}

export function mustActFor(actor: Actor, site: string): void {
  if (actor.sites && !actor.sites.includes(site))
    throw new Problem("not-allowed", `The token ${actor.name} is not for the site ${site}.`);
}
