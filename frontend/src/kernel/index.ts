/** The kernel's door. */
export { bodyOf, nearestCapsule } from "./clearance";
export { type FitPack, fit } from "./fit";
export { pupilRatio } from "./pupil";
export { InputError } from "./shape";
export { checkVectors } from "./vectors";
