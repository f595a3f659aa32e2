/** The ways on when a stop is not released: photographs without dye, or the case closed. */
import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import { Button, Sheet } from "../../ui";
import { record, saving } from "../record";
import { openOver } from "../router";
import { MODALITY_WORD } from "../words";

export function LeaveOut({
  state,
  question,
  step,
  why,
  onLeft,
}: {
  state: CaseState;
  question: string | null;
  step: string | null;
  why: string;
  onLeft: () => void;
}) {
  const [asking, setAsking] = useState(false);
  const dyes = state.modalities.filter((m) => m !== "colour");
  const injected = state.dye.injected.length > 0;
  const leave = async (): Promise<void> => {
    if (await record("dye.left_out", { modalities: dyes, why, question, step }, { case: state.id })) {
      setAsking(false);
      onLeft();
    }
  };
  return (
    <div class="stack-tight">
      {dyes.length > 0 && !injected && (
        <Button wide onClick={() => setAsking(true)}>
          Colour photographs only
        </Button>
      )}
      <Button wide onClick={() => openOver("finish")}>
        Close the case
      </Button>
      {asking && (
        <Sheet small title="Without dye?" onClose={() => setAsking(false)}>
          <div class="stack">
            <p>
              The visit goes on without {dyes.map((m) => MODALITY_WORD[m].toLowerCase()).join(" and ")}. What
              was asked for stays in the log, with the reason: {why}
            </p>
            <Button kind="main" big wide disabled={saving.value > 0} onClick={() => void leave()}>
              Go on without dye
            </Button>
          </div>
        </Sheet>
      )}
    </div>
  );
}
