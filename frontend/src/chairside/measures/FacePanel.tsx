/** Five measures of the face, each a tap or a number; and the way out for a face that the tables do not know. */
import { useState } from "preact/hooks";
import type { Eye, Noted } from "../../log";
import type { ClassValue, EyeDepthClass, FaceMeasured } from "../../types.gen";
import { Button, Notice, PickOne, Segmented } from "../../ui";
import { firstEye, type PanelProps } from "../guide";
import { record, saving } from "../record";
import { EYE_WORD } from "../words";
import { MeasuredNumber } from "./MeasuredNumber";

type Draft = { [K in "pd_mm" | "exophthalmometry" | "nose" | "brow" | "neck" | "age_band"]: FaceMeasured[K] | null };

const EMPTY: Draft = { pd_mm: null, exophthalmometry: null, nose: null, brow: null, neck: null, age_band: null };

/** What a second eye shares with the first stands already; depth of the eye is measured for each. */
function startFrom(own: Noted<FaceMeasured> | undefined, other: Noted<FaceMeasured> | undefined): Draft {
  if (own) return { ...EMPTY, ...own.body };
  if (other) return { ...EMPTY, ...other.body, exophthalmometry: null };
  return EMPTY;
}

function classes<T extends string>(order: readonly T[], words: Record<T, string>, values: Record<T, ClassValue>) {
  return order.map((id) => ({ id, text: words[id], help: values[id].meaning }));
}

export function FacePanel({ state, held, round, onSaved }: PanelProps) {
  const { faces, choices } = held.pack;
  const eye: Eye = round.eye ?? firstEye(state);
  const [draft, setDraft] = useState<Draft>(() =>
    startFrom(state.face[eye], state.face[eye === "right" ? "left" : "right"]),
  );
  const [unusual, setUnusual] = useState<string | null>(state.face[eye]?.body.unusual ?? null);
  const [depth, setDepth] = useState<"judged" | "measured">(
    typeof draft.exophthalmometry === "number" ? "measured" : "judged",
  );
  const set = (change: Partial<Draft>): void => setDraft((held_) => ({ ...held_, ...change }));
  const { pd_mm, exophthalmometry, nose, brow, neck, age_band } = draft;
  const missing = [
    pd_mm === null && "distance between the pupils",
    exophthalmometry === null && "depth of the eye",
    nose === null && "nose",
    brow === null && "brow",
    neck === null && "neck",
    age_band === null && "age",
  ].filter((m) => m !== false);
  const noTurn = unusual !== null || age_band === "child";

  const save = async (): Promise<void> => {
    if (pd_mm === null || exophthalmometry === null || nose === null) return;
    if (brow === null || neck === null || age_band === null) return;
    const body = { eye, pd_mm, exophthalmometry, nose, brow, neck, age_band, unusual };
    if ((await record("face.measured", body, { case: state.id })) !== null) onSaved();
  };

  return (
    <div class="stack-wide">
      <MeasuredNumber
        label="Distance between the pupils"
        rule={{ unit: "mm", least: faces.pd_range.low, most: faces.pd_range.high, decimals: 1 }}
        how={`Other values are refused: ${faces.pd_range.why}.`}
        value={pd_mm}
        onValue={(value) => set({ pd_mm: value })}
      />
      <section class="stack-tight" aria-label="Depth of the eye">
        <Segmented
          legend={`Depth of the ${EYE_WORD[eye].toLowerCase()}`}
          hint="From the outer rim of the bone to the front of the eye, seen from the side."
          options={[
            { id: "judged", text: "Judged" },
            { id: "measured", text: "In mm" },
          ]}
          value={depth}
          onPick={(id) => {
            setDepth(id);
            set({ exophthalmometry: null });
          }}
        />
        {depth === "judged" ? (
          <PickOne
            legend="Depth of the eye, as judged"
            hideLegend
            options={classes<EyeDepthClass>(
              ["deep-set", "average", "prominent"],
              { "deep-set": "Deep-set", average: "Average", prominent: "Prominent" },
              faces.eye_depth.classes,
            )}
            value={typeof exophthalmometry === "string" ? exophthalmometry : null}
            onPick={(id) => set({ exophthalmometry: id as EyeDepthClass | null })}
          />
        ) : (
          <MeasuredNumber
            label="Exophthalmometry"
            rule={{
              unit: "mm",
              least: faces.exophthalmometry_range.low,
              most: faces.exophthalmometry_range.high,
              decimals: 1,
            }}
            how={`Other values are refused: ${faces.exophthalmometry_range.why}.`}
            value={typeof exophthalmometry === "number" ? exophthalmometry : null}
            onValue={(value) => set({ exophthalmometry: value })}
          />
        )}
      </section>
      <PickOne
        legend="Bridge of the nose"
        options={classes(["low", "medium", "high"], { low: "Low", medium: "Medium", high: "High" }, faces.nose_classes)}
        value={nose}
        onPick={(id) => set({ nose: id as Draft["nose"] })}
      />
      <PickOne
        legend="Brow"
        options={classes(
          ["flat", "medium", "heavy"],
          { flat: "Flat", medium: "Medium", heavy: "Heavy" },
          faces.brow_classes,
        )}
        value={brow}
        onPick={(id) => set({ brow: id as Draft["brow"] })}
      />
      <Segmented
        legend="Neck"
        hint="Have the patient turn slowly both ways first."
        options={[
          { id: "free", text: "Free" },
          { id: "limited", text: "Limited" },
          { id: "fixed", text: "Fixed" },
        ]}
        value={neck}
        onPick={(id) => set({ neck: id })}
      />
      <PickOne
        legend="Age"
        hint="Looking up gets harder with age."
        options={choices.age_bands}
        value={age_band}
        onPick={(id) => set({ age_band: id })}
        across
      />
      <PickOne
        legend="Is this a face that the tables do not know?"
        hint="Leave open for an adult face without any of these."
        options={choices.unusual}
        value={unusual}
        onPick={setUnusual}
        clearable
      />
      {noTurn && (
        <Notice kind="warn" title="No turn will be computed">
          <p>
            The tables are mostly of adult soldiers. For a child, a swelling, a dressing or a face that has changed they
            say nothing, and a number would look sure and be wrong. Bring the optic in by eye, watching from the side.
          </p>
        </Notice>
      )}
      <div class="stack-tight">
        {missing.length > 0 && <p class="quiet">Still open: {missing.join(", ")}.</p>}
        <Button kind="main" big wide disabled={missing.length > 0 || saving.value > 0} onClick={save}>
          Save this face
        </Button>
      </div>
    </div>
  );
}
