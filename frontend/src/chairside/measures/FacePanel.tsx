/** Is this a face that the tables know? If so, six measures, each a tap or a number. If not, no turn, and why. */
import { useState } from "preact/hooks";
import type { Eye, Noted } from "../../log";
import type { ClassValue, EyeDepthClass, FaceMeasured, FaceTables } from "../../types.gen";
import { Button, Notice, PickOne, Segmented } from "../../ui";
import { useDraft } from "../drafts";
import { firstEye, type PanelProps } from "../guide";
import { record, saving } from "../record";
import { EYE_WORD } from "../words";
import { MeasuredNumber } from "./MeasuredNumber";

type Draft = {
  [K in "pd_mm" | "exophthalmometry" | "nose" | "brow" | "neck" | "age_band"]: FaceMeasured[K] | null;
} & { known: "yes" | "no" | null };

const EMPTY: Draft = {
  pd_mm: null,
  exophthalmometry: null,
  nose: null,
  brow: null,
  neck: null,
  age_band: null,
  known: null,
};

/** What a second eye shares with the first stands already; the depth is measured for each eye. */
function startFrom(own: Noted<FaceMeasured> | undefined, other: Noted<FaceMeasured> | undefined): Draft {
  const from = own ?? other;
  if (from === undefined) return EMPTY;
  const { pd_mm, exophthalmometry, nose, brow, neck, age_band } = from.body;
  return {
    pd_mm,
    exophthalmometry: own ? exophthalmometry : null,
    nose,
    brow,
    neck,
    age_band,
    known: "yes",
  };
}

export function FacePanel(props: PanelProps) {
  const { state, held, round, onSaved } = props;
  const eye: Eye = round.eye ?? firstEye(state);
  const start = startFrom(state.face[eye], state.face[eye === "right" ? "left" : "right"]);
  const [draft, set, drop] = useDraft<Draft>(`${state.id}:face:${eye}`, start);
  const { known, ...measures } = draft;
  const open = missing(measures);
  const save = async (): Promise<void> => {
    const { pd_mm, exophthalmometry, nose, brow, neck, age_band } = measures;
    if (pd_mm === null || exophthalmometry === null || nose === null) return;
    if (brow === null || neck === null || age_band === null) return;
    const body = { eye, pd_mm, exophthalmometry, nose, brow, neck, age_band, unusual: null };
    if ((await record("face.measured", body, { case: state.id })) === null) return;
    drop();
    await onSaved();
  };
  return (
    <div class="stack-wide">
      <Segmented
        legend="Is this a face that the tables know?"
        hint="They know adults. Not a child, a swelling, a dressing, or a face changed by injury or surgery."
        options={[
          { id: "yes", text: "Yes" },
          { id: "no", text: "No" },
        ]}
        value={known}
        onPick={(id) => set({ known: id })}
      />
      {known === "no" ? (
        <Unknown {...props} />
      ) : (
        <>
          <Measures
            eye={eye}
            faces={held.pack.faces}
            draft={draft}
            set={set}
            ages={held.pack.choices.age_bands}
          />
          {measures.age_band === "child" && <NoTurnNotice />}
          <div class="stack-tight">
            {(open.length > 0 || known === null) && (
              <p class="quiet">
                Still open:{" "}
                {[...(known === null ? ["whether the tables know this face"] : []), ...open].join(", ")}.
              </p>
            )}
            <Button
              kind="main"
              big
              wide
              disabled={open.length > 0 || known === null || saving.value > 0}
              onClick={save}
            >
              Save this face
            </Button>
          </div>
        </>
      )}
    </div>
  );
}

function missing(measures: Omit<Draft, "known">): string[] {
  const words: Record<keyof typeof measures, string> = {
    pd_mm: "distance between the pupils",
    exophthalmometry: "depth of the eye",
    nose: "nose",
    brow: "brow",
    neck: "neck",
    age_band: "age",
  };
  return (Object.keys(words) as (keyof typeof measures)[])
    .filter((k) => measures[k] === null)
    .map((k) => words[k]);
}

function NoTurnNotice() {
  return (
    <Notice kind="warn" title="No turn will be computed">
      <p>
        The tables are of adult faces, most of them soldiers. Of this face they say nothing: a number would
        look sure and be wrong. Bring the optic in by eye, watching from the side.
      </p>
    </Notice>
  );
}

/** Becomes a fact of the case, so that no screen computes a turn; nothing is measured that would not be used. */
function Unknown({ state, held, onSaved }: PanelProps) {
  const { choices } = held.pack;
  const [why, setWhy] = useState<string | null>(
    choices.unusual.find((u) => state.flags.includes(u.id))?.id ?? null,
  );
  const save = async (): Promise<void> => {
    if (why === null) return;
    if (!state.flags.includes(why)) {
      const body = { flags: [...state.flags, why], study_eye: state.studyEye };
      if ((await record("case.flagged", body, { case: state.id })) === null) return;
    }
    void onSaved(`no computed turn: ${choices.unusual.find((u) => u.id === why)?.text ?? why}`);
  };
  return (
    <div class="stack">
      <PickOne legend="What is it?" options={choices.unusual} value={why} onPick={setWhy} />
      <NoTurnNotice />
      <Button kind="main" big wide disabled={why === null || saving.value > 0} onClick={save}>
        Go on without a turn
      </Button>
    </div>
  );
}

/** "Low: ...; High: ...": how to judge, before the keys. The middle class needs no words. */
function meanings<T extends string>(
  words: readonly (readonly [T, string])[],
  values: Record<T, ClassValue>,
): string {
  return words
    .filter(([id]) => values[id].meaning !== "neither")
    .map(([id, text]) => `${text}: ${values[id].meaning}.`)
    .join(" ");
}

const DEPTHS = [
  ["deep-set", "Deep-set"],
  ["average", "Average"],
  ["prominent", "Prominent"],
] as const;
const NOSES = [
  ["low", "Low"],
  ["medium", "Medium"],
  ["high", "High"],
] as const;
const BROWS = [
  ["flat", "Flat"],
  ["medium", "Medium"],
  ["heavy", "Heavy"],
] as const;
const NECKS = [
  ["free", "Free"],
  ["limited", "Limited"],
  ["fixed", "Fixed"],
] as const;

function options<T extends string>(words: readonly (readonly [T, string])[]): { id: T; text: string }[] {
  return words.map(([id, text]) => ({ id, text }));
}

function Measures({
  eye,
  faces,
  draft,
  set,
  ages,
}: {
  eye: Eye;
  faces: FaceTables;
  draft: Draft;
  set: (change: Partial<Draft>) => void;
  ages: { id: string; text: string }[];
}) {
  const [depth, setDepth] = useState<"judged" | "measured">(
    typeof draft.exophthalmometry === "number" ? "measured" : "judged",
  );
  return (
    <>
      <MeasuredNumber
        label="Distance between the pupils"
        rule={{ unit: "mm", least: faces.pd_range.low, most: faces.pd_range.high, decimals: 1 }}
        how={`Anything else is refused: ${faces.pd_range.why}.`}
        value={draft.pd_mm}
        onValue={(pd_mm) => set({ pd_mm })}
      />
      <section class="stack-tight" aria-label="Depth of the eye">
        {depth === "judged" ? (
          <Segmented<EyeDepthClass>
            legend={`Depth of the ${EYE_WORD[eye].toLowerCase()}, judged from the side`}
            hint={`From the outer rim of the bone to the front of the eye. ${meanings(DEPTHS, faces.eye_depth.classes)}`}
            options={options(DEPTHS)}
            value={typeof draft.exophthalmometry === "string" ? draft.exophthalmometry : null}
            onPick={(exophthalmometry) => set({ exophthalmometry })}
          />
        ) : (
          <MeasuredNumber
            label={`Depth of the ${EYE_WORD[eye].toLowerCase()} in mm`}
            rule={{
              unit: "mm",
              least: faces.exophthalmometry_range.low,
              most: faces.exophthalmometry_range.high,
              decimals: 1,
            }}
            how={`By exophthalmometer. Anything else is refused: ${faces.exophthalmometry_range.why}.`}
            value={typeof draft.exophthalmometry === "number" ? draft.exophthalmometry : null}
            onValue={(exophthalmometry) => set({ exophthalmometry })}
          />
        )}
        <Button
          kind="quiet"
          onClick={() => {
            setDepth(depth === "judged" ? "measured" : "judged");
            set({ exophthalmometry: null });
          }}
        >
          {depth === "judged" ? "Enter mm instead" : "Judge it instead"}
        </Button>
      </section>
      <Segmented
        legend="Bridge of the nose"
        hint={meanings(NOSES, faces.nose_classes)}
        options={options(NOSES)}
        value={draft.nose}
        onPick={(nose) => set({ nose })}
      />
      <Segmented
        legend="Brow"
        hint={meanings(BROWS, faces.brow_classes)}
        options={options(BROWS)}
        value={draft.brow}
        onPick={(brow) => set({ brow })}
      />
      <Segmented
        legend="Neck"
        hint="Have the patient turn slowly both ways first."
        options={options(NECKS)}
        value={draft.neck}
        onPick={(neck) => set({ neck })}
      />
      <div class="ages">
        <Segmented
          legend="Age"
          hint="Looking up gets harder with age."
          options={ages}
          value={draft.age_band}
          onPick={(age_band) => set({ age_band })}
        />
      </div>
    </>
  );
}
