/** What needs the kernel, as one part of the shell that is read later: no case begins with it. */
export { FixationPanel } from "./fixation/FixationPanel";
export { FramesPanel } from "./frames/FramesPanel";
export { FacePanel } from "./measures/FacePanel";
export { PupilPanel } from "./measures/PupilPanel";
export { OpticPanel } from "./optics/OpticPanel";
export { FoundPanel } from "./position/FoundPanel";
export { PositionPanel } from "./position/PositionPanel";
