import type { PanelProps } from "../guide";
import { FramesPanel } from "../panels";
import type { CaseScreenProps } from "../routes";
import { EyeScreen } from "./EyeScreen";

function All(props: PanelProps) {
  return <FramesPanel {...props} wanted={null} />;
}

/** Every frame of one eye with the optic in use, whichever step asks for it. */
export function Screen(props: CaseScreenProps) {
  return <EyeScreen {...props} name="frames" title="Check off the frames" Panel={All} />;
}
