/** The kernel's door. */
export { type FitPack, fit } from "./fit";
export { InputError } from "./shape";
export { checkVectors } from "./vectors";
