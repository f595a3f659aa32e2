/** Every step of this case by stage, with its state, to go back to one or ahead to one. */
import type { CaseState } from "../../log";
import type { PlannedStep } from "../../pack";
import type { Pack } from "../../types.gen";
import { Icon, Sheet } from "../../ui";
import { binds, mustsBefore, progress } from "./flow";
import { roundWords } from "./round";
import { WEIGHT_WORD } from "./Weight";

export function JumpSheet({
  state,
  pack,
  plan,
  current,
  onClose,
  onPick,
}: {
  state: CaseState;
  pack: Pack;
  plan: PlannedStep[];
  current: string | null;
  onClose: () => void;
  onPick: (key: string) => void;
}) {
  const firstMust = plan.find(
    (p) => binds(p.step.weight) && !state.steps.has(p.key) && (p.optic === null || p.optic === state.optic),
  );
  return (
    <Sheet title="All steps" onClose={onClose}>
      <div class="stack-wide">
        {firstMust && (
          <p class="quiet">
            {firstMust.step.weight === "stop"
              ? "Later steps wait for this stop; only a licensed person's release passes it undone: "
              : "Later steps wait for this one; do it, or pass it with a reason: "}
            {firstMust.step.text}
          </p>
        )}
        {progress(plan, state.steps, pack.stages).map((stage) => (
          <section key={stage.id} aria-label={stage.name}>
            <div class="row-ends">
              <h2>{stage.name}</h2>
              <p class="quiet number">
                {stage.passed} of {stage.total}
              </p>
            </div>
            <ol class="frames">
              {plan
                .filter((p) => p.step.stage === stage.id)
                .map((p) => {
                  const mark = state.steps.get(p.key);
                  const locked =
                    mark === undefined && mustsBefore(plan, state.steps, p.key, state.optic).length > 0;
                  return (
                    <li key={p.key}>
                      <button
                        type="button"
                        class={`frame-row ${p.key === current ? "frame-now" : ""}`}
                        aria-current={p.key === current ? "step" : undefined}
                        disabled={locked}
                        onClick={() => onPick(p.key)}
                      >
                        <span
                          class={`frame-mark frame-${mark === undefined ? "open" : mark.state === "done" ? "taken" : "again"}`}
                        >
                          {mark && <Icon name={mark.state === "done" ? "tick" : "forward"} />}
                        </span>
                        <span>
                          {p.step.text}
                          <span class="choice-help">
                            {[
                              WEIGHT_WORD[p.step.weight],
                              roundWords(pack, p),
                              mark?.state === "done"
                                ? "done"
                                : mark
                                  ? mark.reason === "released"
                                    ? "released"
                                    : "passed with a reason"
                                  : locked
                                    ? "waits"
                                    : "open",
                            ]
                              .filter(Boolean)
                              .join(", ")}
                          </span>
                        </span>
                      </button>
                    </li>
                  );
                })}
            </ol>
          </section>
        ))}
      </div>
    </Sheet>
  );
}
