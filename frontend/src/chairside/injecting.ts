/** What surrounds an injection, as one part of the shell that is read later: no case begins with it. */
export { ArmPanel } from "./closing/ArmPanel";
export { ImagesPanel } from "./closing/ImagesPanel";
export { TakeawayPanel } from "./closing/TakeawayPanel";
export { WatchPanel } from "./closing/WatchPanel";
export { DosePanel } from "./dye/DosePanel";
export { InjectPanel } from "./dye/InjectPanel";
export { DoseScreen, InjectScreen, ReadyScreen, ScreeningScreen } from "./dye/screens";
export { ScreeningPanel } from "./screening/ScreeningPanel";
export { ReleasePanel, StopSheet } from "./screening/StopSheet";
export { StopStrip } from "./screening/StopStrip";
