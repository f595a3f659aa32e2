import { FacePanel } from "../panels";
import type { CaseScreenProps } from "../routes";
import { EyeScreen } from "./EyeScreen";

export function Screen(props: CaseScreenProps) {
  return <EyeScreen {...props} name="face" title="Measure or judge the face" Panel={FacePanel} />;
}
