import { PositionPanel } from "../panels";
import type { CaseScreenProps } from "../routes";
import { EyeScreen } from "./EyeScreen";

export function Screen(props: CaseScreenProps) {
  return <EyeScreen {...props} name="position" title="Turn the face" Panel={PositionPanel} />;
}
