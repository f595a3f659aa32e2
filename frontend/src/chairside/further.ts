/** What is off the way of a case, as one part of the shell that is read later. */
export { Finish } from "./overlays/Finish";
export { History } from "./overlays/History";
export { End } from "./reaction/End";
export { Details } from "./safety/Details";
export { ClosedCase } from "./screens/ClosedCase";
export { Enrol } from "./screens/Enrol";
export { NewCase } from "./screens/NewCase";
export { Settings } from "./screens/Settings";
export { TakeOver } from "./screens/TakeOver";
export { Unsent } from "./screens/Unsent";
export { JumpSheet } from "./steps/JumpSheet";
export { OnlyReaction } from "./unfinished/OnlyReaction";
export { UnfinishedSheet } from "./unfinished/UnfinishedSheet";
