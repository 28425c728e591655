export { fingerprint } from "./bound/fingerprint.js";
export { bounds, quickBound } from "./bound/index.js";
export { type DrawOptions, type DrawResult, draw, type Progress, pose } from "./draw.js";
export { createLp, type Lp } from "./lp/choose.js";
export { loadHighs } from "./lp/engine-highs.js";
export { createSmallEngine } from "./lp/engine-small.js";
export { firstRepair, type RepairOptions, repair } from "./repair/index.js";
export { type Breach, verify } from "./verify/index.js";
