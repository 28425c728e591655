import { signal } from "@preact/signals";

/** The unit that somebody is about to take out of service. */
export const outOfServiceUnit = signal<string | undefined>(undefined);

export function askOutOfService(unit: string): void {
  outOfServiceUnit.value = unit;
}
