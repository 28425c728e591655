/**
 * Published limits that users often enter, with where they are written, and the check of a cooling curve against a two-stage limit.
 * They are offered, never applied unasked: the settings' limits count, and the local code comes before both.
 */
export interface PublishedLimit {
  readonly id: string;
  readonly jurisdiction: string;
  readonly source: string;
  readonly says: string;
  readonly coldAtMostC?: number;
  readonly warmMinutes?: number;
}

export const PUBLISHED_LIMITS: readonly PublishedLimit[] = [
  {
    id: "us-cold-holding",
    jurisdiction: "US, FDA Food Code as adopted by the state",
    source: "Food Code 3-501.16",
    says: "cold at 5 C (41 F) or below",
    coldAtMostC: 5,
  },
  {
    id: "us-time-4h",
    jurisdiction: "US, FDA Food Code as adopted by the state",
    source: "Food Code 3-501.19 (written procedure needed)",
    says: "time as a control: from 5 C or below, cooked, served or thrown away within 4 h",
    warmMinutes: 240,
  },
  {
    id: "us-time-6h",
    jurisdiction: "US, FDA Food Code as adopted by the state",
    source: "Food Code 3-501.19 (written procedure needed)",
    says: "time as a control: from 5 C or below, never above 21 C, within 6 h",
    warmMinutes: 360,
  },
  {
    id: "england-chill",
    jurisdiction: "England",
    source: "SI 2013/2996, Schedule 4",
    says: "chilled at 8 C or below",
    coldAtMostC: 8,
  },
  {
    id: "eu-cold-chain",
    jurisdiction: "European Union",
    source: "Regulation (EC) No 852/2004, Annex II, chapter IX, 5",
    says: "no figure: no temperatures that could be a risk to health, cold chain not interrupted, limited periods for handling",
  },
];

/** Two-stage cooling of cooked food (Food Code 3-501.14), minutes: 57 to 21 C within the first, to 5 C within both together. */
export const COOKED_COOLING = { fromC: 57, middleC: 21, toC: 5, firstMinutes: 120, totalMinutes: 360 } as const;

/** Minutes at which a cooling food passed 21 C and 5 C: inside the two-stage limit? Time not used in the first stage carries over. */
export function insideCookedCooling(minutesTo21C: number, minutesTo5C: number): boolean {
  return minutesTo21C <= COOKED_COOLING.firstMinutes && minutesTo5C <= COOKED_COOLING.totalMinutes;
}

/** Hours for a well-stirred or small food with time constant tau to fall from one temperature to another in air. Lumped: Biot below 0.1. */
export function lumpedHours(tauHours: number, fromC: number, toC: number, airC: number): number {
  return tauHours * Math.log((fromC - airC) / (toC - airC));
}
