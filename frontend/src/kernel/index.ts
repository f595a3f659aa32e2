/** The kernel's door. */
export { bodyOf, nearestCapsule } from "./clearance";
export { type FitPack, fit } from "./fit";
export { InputError } from "./shape";
export { checkVectors } from "./vectors";
