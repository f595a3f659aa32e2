import { FixationPanel } from "../panels";
import type { CaseScreenProps } from "../routes";
import { EyeScreen } from "./EyeScreen";

export function Screen(props: CaseScreenProps) {
  return <EyeScreen {...props} name="fixation" title="Choose how the eye is guided" Panel={FixationPanel} />;
}
