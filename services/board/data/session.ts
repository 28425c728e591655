import { computed, signal } from "@preact/signals";
import { ask, sendJson, signIn } from "./http.js";
import type { BoardError } from "./types.js";

export type Role = "viewer" | "station" | "planner" | "owner";
const RANKS: readonly Role[] = ["viewer", "station", "planner", "owner"];

export interface Who {
  readonly name: string;
  readonly you?: string;
  readonly role?: Role;
  readonly sites?: readonly string[];
}

/** Who this page is to the server; undefined until it has said so. */
export const who = signal<Who | undefined>(undefined);
export const wantsToken = signal(false);
export const signInTrouble = signal("");

export async function askWho(): Promise<void> {
  const { body } = await ask<Who>("/api");
  who.value = body;
  wantsToken.value = body.role === undefined;
}

signIn.needed = () => {
  wantsToken.value = true;
};

/** The server keeps the token in a cookie that scripts cannot read. */
export async function signInWith(secret: string): Promise<boolean> {
  try {
    await sendJson("POST", "/api/session", { token: secret.trim() });
    await askWho();
    const isIn = who.value?.role !== undefined;
    signInTrouble.value = isIn ? "" : "The server does not know this token, or it is no longer valid.";
    return isIn;
  } catch (error) {
    signInTrouble.value = (error as BoardError).message;
    return false;
  }
}

export async function signOut(): Promise<void> {
  await sendJson("DELETE", "/api/session");
  await askWho();
}

/** May plan: change the day, ask the solver, accept. Not known yet counts as yes: the server decides in the end. */
export const mayPlan = computed(() => {
  const role = who.value?.role;
  return role === undefined || RANKS.indexOf(role) >= RANKS.indexOf("planner");
});

export function mayMark(site: string): boolean {
  const { role, sites } = who.value ?? {};
  if (role === undefined) return true;
  return RANKS.indexOf(role) >= RANKS.indexOf("station") && (sites === undefined || sites.includes(site));
}
