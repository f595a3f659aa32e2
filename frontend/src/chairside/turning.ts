/** What needs the kernel, as one part of the shell that is read later: no case begins with it. */
export { FixationPanel } from "./fixation/FixationPanel";
export { FramesPanel } from "./frames/FramesPanel";
export { PupilPanel } from "./measures/PupilPanel";
export { OpticPanel } from "./optics/OpticPanel";
export { PositionPanel } from "./position/PositionPanel";
