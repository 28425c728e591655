import type { Dough, Settings } from "../../schemas/index.js";

/** What a dough is under: its own holdingLimit and out-of-cold limit, and the settings' limit that it names; of two the stricter counts. */
export interface HoldingLimits {
  readonly warmMinutes?: number;
  readonly coldAtMostC?: number;
  readonly outOfColdMinutes?: number;
  /** Whose limits, and where they are written. */
  readonly labels: readonly string[];
}

function stricter(a: number | undefined, b: number | undefined): number | undefined {
  if (a === undefined) return b;
  return b === undefined ? a : Math.min(a, b);
}

type LimitedDough = Pick<Dough, "holdingLimit" | "limit" | "maxOutOfColdMinutes">;

const limitsKnown = new WeakMap<object, WeakMap<LimitedDough, HoldingLimits>>();

/** Worked out once for each dough and settings: every way of every load asks. */
export function limitOf(settings: Pick<Settings, "limits">, dough: LimitedDough): HoldingLimits {
  const known = limitsKnown.get(settings) ?? new WeakMap<LimitedDough, HoldingLimits>();
  limitsKnown.set(settings, known);
  const limits = known.get(dough) ?? workOut(settings, dough);
  known.set(dough, limits);
  return limits;
}

function workOut(settings: Pick<Settings, "limits">, dough: LimitedDough): HoldingLimits {
  const named = settings.limits?.find(({ id }) => id === dough.limit);
  const warmMinutes = stricter(dough.holdingLimit?.warmMinutes, named?.warmMinutes);
  const outOfColdMinutes = stricter(dough.maxOutOfColdMinutes, named?.outOfColdMinutes);
  return {
    ...(warmMinutes === undefined ? {} : { warmMinutes }),
    ...(named?.coldAtMostC === undefined ? {} : { coldAtMostC: named.coldAtMostC }),
    ...(outOfColdMinutes === undefined ? {} : { outOfColdMinutes }),
    labels: [
      ...(dough.holdingLimit ? [`${dough.holdingLimit.label}: ${dough.holdingLimit.warmMinutes} min warm`] : []),
      ...(named ? [`${named.jurisdiction}, ${named.source}`] : []),
    ],
  };
}
