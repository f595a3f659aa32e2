/** The panels that need the kernel, as screens and steps use them: read in when idle or asked for. */
import { later } from "./later";

const turning = () => import("./turning");
const timed = () => import("./timed");
const aside = () => import("./aside");
const injecting = () => import("./injecting");

export const FacePanel = later(() => turning().then((m) => m.FacePanel));
export const FixationPanel = later(() => turning().then((m) => m.FixationPanel));
export const FoundPanel = later(() => turning().then((m) => m.FoundPanel));
export const FramesPanel = later(() => turning().then((m) => m.FramesPanel));
export const OpticPanel = later(() => turning().then((m) => m.OpticPanel));
export const PositionPanel = later(() => turning().then((m) => m.PositionPanel));
export const PupilPanel = later(() => turning().then((m) => m.PupilPanel));
export const SeriesScreen = later(() => timed().then((m) => m.SeriesScreen));
export const MapScreen = later(() => aside().then((m) => m.MapScreen));
export const SeriesStep = later(() => timed().then((m) => m.SeriesStep));
export const ArmPanel = later(() => injecting().then((m) => m.ArmPanel));
export const DosePanel = later(() => injecting().then((m) => m.DosePanel));
export const DoseScreen = later(() => injecting().then((m) => m.DoseScreen));
export const ImagesPanel = later(() => injecting().then((m) => m.ImagesPanel));
export const InjectPanel = later(() => injecting().then((m) => m.InjectPanel));
export const InjectScreen = later(() => injecting().then((m) => m.InjectScreen));
export const ReadyScreen = later(() => injecting().then((m) => m.ReadyScreen));
export const ReleasePanel = later(() => injecting().then((m) => m.ReleasePanel));
export const ScreeningPanel = later(() => injecting().then((m) => m.ScreeningPanel));
export const ScreeningScreen = later(() => injecting().then((m) => m.ScreeningScreen));
export const StopSheet = later(() => injecting().then((m) => m.StopSheet));
export const StopStrip = later(() => injecting().then((m) => m.StopStrip));
export const TakeawayPanel = later(() => injecting().then((m) => m.TakeawayPanel));
export const WatchPanel = later(() => injecting().then((m) => m.WatchPanel));
