import type { Draft } from "../draft.js";
import { eject } from "./eject.js";
import type { Move } from "./move.js";

/** A load that is not made is put by force. */
export const byForce: Move = {
  name: "by force",
  apply(draft: Draft): boolean {
    const load = someUnmade(draft);
    return load >= 0 && eject(draft, load);
  },
};

/** A load that is not made, by chance; -1 when there is none but those passed over. */
export function someUnmade({ rng, state, model }: Draft, passedOver?: ReadonlySet<number>): number {
  const count = model.loads.length;
  const first = rng.below(count);
  for (let i = 0; i < count; i++) {
    const load = (first + i) % count;
    if (state.mode[load]! < 0 && !passedOver?.has(load)) return load;
  }
  return -1;
}
