/** Guidance packs: take one in, prove it, keep it, look things up. This file is its only door. */
export { planName, protocolName, windowName } from "./names";
export { openShelf } from "./shelf";
export { fieldsFor, stepsFor } from "./steps";
export type { Eye, Held, PlannedStep, RefusedPack, Shelf, Situation, Verdict } from "./types";
