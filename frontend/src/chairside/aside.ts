/** What is held before the patient or a helper, as one part of the shell that is read later. */
export { Card } from "./card/Card";
export { Light } from "./light/Light";
export { MapScreen } from "./map/MapScreen";
