/** The panels that need the kernel, as screens and steps use them: read in when idle or asked for. */
import { later } from "./later";

const turning = () => import("./turning");
const timed = () => import("./timed");
const aside = () => import("./aside");

export const FixationPanel = later(() => turning().then((m) => m.FixationPanel));
export const FramesPanel = later(() => turning().then((m) => m.FramesPanel));
export const OpticPanel = later(() => turning().then((m) => m.OpticPanel));
export const PositionPanel = later(() => turning().then((m) => m.PositionPanel));
export const PupilPanel = later(() => turning().then((m) => m.PupilPanel));
export const SeriesScreen = later(() => timed().then((m) => m.SeriesScreen));
export const MapScreen = later(() => aside().then((m) => m.MapScreen));
export const SeriesStep = later(() => timed().then((m) => m.SeriesStep));
