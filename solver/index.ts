export { type DrawOptions, type DrawResult, draw, type Progress } from "./draw.js";
export { createLp, type Lp } from "./lp/choose.js";
export { loadHighs } from "./lp/engine-highs.js";
export { createSmallEngine } from "./lp/engine-small.js";
export { type Breach, verify } from "./verify/index.js";
