import { PupilPanel } from "../panels";
import type { CaseScreenProps } from "../routes";
import { EyeScreen } from "./EyeScreen";

export function Screen(props: CaseScreenProps) {
  return <EyeScreen {...props} name="pupil" title="Measure the pupil" Panel={PupilPanel} />;
}
