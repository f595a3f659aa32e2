/** How it was in truth: the answers that calibrate the advice. */
import type { PoseFound } from "../../types.gen";
import { Button, Notice, PickOne, ScaleKeys, Segmented } from "../../ui";
import { useDraft } from "../drafts";
import { openTouch } from "../guide";
import { record, saving } from "../record";
import type { AdviceProps } from "./Advice";

const OUTCOMES: readonly { id: PoseFound["outcome"]; text: string; help: string }[] = [
  { id: "as_advised", text: "As advised", help: "The turn was used unchanged." },
  { id: "more", text: "More was needed", help: "The face had to turn further." },
  { id: "less", text: "Less was enough", help: "A smaller turn did it." },
  { id: "not_reached", text: "Not reached", help: "The patient or the optic did not get there." },
];

interface Draft {
  outcome: PoseFound["outcome"] | null;
  by: number | null;
  nearest: string | null;
  touched: "no" | "yes" | null;
}

const EMPTY: Draft = { outcome: null, by: null, nearest: null, touched: null };

type FoundProps = Pick<AdviceProps, "state" | "pack" | "eye" | "optic" | "onSaved"> & {
  gaze: Pick<AdviceProps["gaze"], "id" | "gaze_deg">;
  advised: { yaw_deg: number; pitch_deg: number };
};

export function Found({ state, pack, eye, optic, gaze, advised, onSaved }: FoundProps) {
  const [draft, set, drop] = useDraft<Draft>(`${state.id}:found:${eye}:${optic.id}:${gaze.id}`, EMPTY);
  const { outcome, by, nearest, touched } = draft;
  const differs = outcome === "more" || outcome === "less";
  const ready = outcome !== null && touched !== null && (!differs || by !== null);
  const save = async (): Promise<void> => {
    if (outcome === null || touched === null) return;
    const away = Math.sign(advised.yaw_deg) || 1;
    const used =
      outcome === "as_advised"
        ? advised.yaw_deg
        : differs && by !== null
          ? advised.yaw_deg + away * (outcome === "more" ? by : -by)
          : null;
    const saved = await record(
      "pose.found",
      {
        eye,
        optic: optic.id,
        gaze_deg: gaze.gaze_deg,
        outcome,
        by_deg: differs ? by : null,
        nearest,
        touched: touched === "yes",
        yaw_deg: used,
        pitch_deg: outcome === "as_advised" ? advised.pitch_deg : null,
      },
      { case: state.id },
    );
    if (saved === null) return;
    drop();
    await onSaved(outcome); // first, since it leads to another screen; the event sheet lies over that
    if (touched === "yes") {
      openTouch(pack, eye, optic.id);
    }
  };
  return (
    <section class="found stack card card-now" aria-label="How it was">
      <h2>How was it?</h2>
      <PickOne
        legend="How was it?"
        hideLegend
        options={OUTCOMES}
        value={outcome}
        onPick={(id) => set({ outcome: id as Draft["outcome"] })}
      />
      {differs && (
        <div class="stack-tight">
          <p class="strong">
            {outcome === "more" ? "By how many degrees more?" : "By how many degrees less?"}
          </p>
          <ScaleKeys
            label="Degrees"
            least={1}
            most={20}
            value={by}
            onPick={(degrees) => set({ by: degrees })}
          />
        </div>
      )}
      <Segmented
        legend="Did the optic touch skin or lashes?"
        options={[
          { id: "no", text: "No" },
          { id: "yes", text: "Yes, it touched" },
        ]}
        value={touched}
        onPick={(id) => set({ touched: id })}
      />
      {touched === "yes" && (
        <Notice kind="warn" title="Draw back first">
          <p>After saving, the event sheet opens with this already filled in.</p>
        </Notice>
      )}
      {outcome !== null && (
        <PickOne
          legend="Where was the optic nearest? (if you saw it)"
          options={pack.choices.nearest}
          value={nearest}
          onPick={(id) => set({ nearest: id })}
          clearable
          across
        />
      )}
      <Button kind="main" big wide disabled={!ready || saving.value > 0} onClick={save}>
        Save how it was
      </Button>
    </section>
  );
}
