/** The kernel's door. */
export { type CellUnion, type Cone, fieldOutline, type MapPoint, mapPoint, shownBy, unionOf } from "./cells";
export { bodyOf, nearestCapsule } from "./clearance";
export { type ClockAnchor, type ClockAnswer, type ClockReading, secondsSince } from "./clock";
export { reasonAgainst } from "./decimal";
export { type DosePack, workDose } from "./dose";
export { type FitPack, fit } from "./fit";
export { nextFrames } from "./nextFrame";
export { pupilRatio } from "./pupil";
export { InputError } from "./shape";
export { checkVectors } from "./vectors";
