/** A phone with PINs, as one part of the shell that is read in where there are some, or the first is set. */
export { beginLocking, lockAll } from "./lock/begin";
export { Pins } from "./lock/Pins";
