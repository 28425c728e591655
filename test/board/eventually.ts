import { expect } from "vitest";

/** Expects of something that comes about in its own time, however busy the machine is. Apart from the stage, which the bench uses without vitest. */
export const eventually = <T>(look: () => T) => expect.poll(look, { timeout: 60_000 });
