/** The bodies of the steps around an injection. Read in later; here only which is which. */

import type { PlannedStep } from "../../pack";
import type { PanelProps } from "../guide";
import {
  ArmPanel,
  DosePanel,
  ImagesPanel,
  InjectPanel,
  ReleasePanel,
  ScreeningPanel,
  TakeawayPanel,
  WatchPanel,
} from "../panels";

export function DyeBody({
  planned,
  panel,
  onNext,
}: {
  planned: PlannedStep;
  panel: PanelProps;
  onNext: () => void;
}) {
  const { step } = planned;
  switch (step.screen) {
    case "screening":
      return <ScreeningPanel {...panel} part="patient" />;
    case "ready":
      return <ScreeningPanel {...panel} part="ready" />;
    case "release":
      return <ReleasePanel state={panel.state} pack={panel.held.pack} planned={planned} onPassed={onNext} />;
    case "dose":
      return <DosePanel {...panel} dye={step.dye} />;
    case "inject":
      return <InjectPanel {...panel} dye={step.dye} step={step.id} />;
    case "arm":
      return <ArmPanel {...panel} step={step.id} />;
    case "watch":
      return <WatchPanel {...panel} />;
    case "takeaway":
      return <TakeawayPanel {...panel} />;
    case "images":
      return <ImagesPanel {...panel} />;
    default:
      return null;
  }
}
