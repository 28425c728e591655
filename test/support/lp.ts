import { createLp, createSmallEngine, type Lp, loadHighs } from "../../solver/index.js";

/** The lp port as the product wires it, loaded once a test file. */
export async function loadLp(): Promise<Lp> {
  return createLp(
    createSmallEngine(() => performance.now()),
    await loadHighs(),
  );
}
