/** The pupil in mm, and which optics it is too narrow for, straight or along a steered gaze. */
import { pupilRatio } from "../../kernel";
import type { EyeSide, Optic, Pack } from "../../types.gen";
import { Button, Notice, Segmented } from "../../ui";
import { useDraft } from "../drafts";
import { allFields, firstEye, type PanelProps } from "../guide";
import { gazeSentence } from "../position/words";
import { record, saving } from "../record";
import { EYE_WORD } from "../words";
import { MeasuredNumber } from "./MeasuredNumber";

/** A pupil outside this is a slip of the finger: the log's optics need 0.5 to 10 mm. */
const RULE = { unit: "mm", least: 1, most: 10, decimals: 1 };

interface Draft {
  pupil_mm: number | null;
  dilated: "yes" | "no" | null;
}

export function PupilPanel({ state, held, round, onSaved }: PanelProps) {
  const { pack } = held;
  const eye = round.eye ?? firstEye(state);
  const noted = state.pupil[eye]?.body;
  const [draft, set, drop] = useDraft<Draft>(`${state.id}:pupil:${eye}`, {
    pupil_mm: noted?.pupil_mm ?? null,
    dilated: noted ? (noted.dilated ? "yes" : "no") : null,
  });
  const { pupil_mm, dilated } = draft;
  const save = async (): Promise<void> => {
    if (pupil_mm === null || dilated === null) return;
    const body = { eye, pupil_mm, dilated: dilated === "yes" };
    if ((await record("pupil.measured", body, { case: state.id })) === null) return;
    drop();
    await onSaved(`${pupil_mm} mm`);
  };
  return (
    <div class="stack">
      <MeasuredNumber
        label={`Pupil of the ${EYE_WORD[eye].toLowerCase()}`}
        rule={RULE}
        how="In the light that you will work in."
        value={pupil_mm}
        onValue={(mm) => set({ pupil_mm: mm })}
      />
      <Segmented
        legend="Dilated by drops?"
        options={[
          { id: "yes", text: "Yes" },
          { id: "no", text: "No" },
        ]}
        value={dilated}
        onPick={(id) => set({ dilated: id })}
      />
      {pupil_mm !== null && (
        <ul class="stack-tight" aria-label="What this pupil allows">
          {pack.optics.map((optic) => (
            <Allows
              key={optic.id}
              pack={pack}
              optic={optic}
              pupil_mm={pupil_mm}
              gazes={allFields(pack, state, eye, optic.id).map((f) => f.gaze_deg)}
              eye={eye}
            />
          ))}
        </ul>
      )}
      <Button
        kind="main"
        big
        wide
        disabled={pupil_mm === null || dilated === null || saving.value > 0}
        onClick={save}
      >
        Save the pupil
      </Button>
    </div>
  );
}

function Allows({
  pack,
  optic,
  pupil_mm,
  gazes,
  eye,
}: {
  pack: Pack;
  optic: Optic;
  pupil_mm: number;
  gazes: [number, number][];
  eye: EyeSide;
}) {
  const narrow = gazes
    .map((gaze) => ({ gaze, seen_mm: pupil_mm * pupilRatio(pack.pupil, gaze[0]) }))
    .filter((g) => g.seen_mm < optic.least_pupil_mm)
    .sort((a, b) => a.seen_mm - b.seen_mm);
  const worst = narrow[0];
  if (pupil_mm < optic.least_pupil_mm) {
    return (
      <li>
        <Notice kind="warn" title={`${optic.name}: too narrow`}>
          <p>It needs {optic.least_pupil_mm} mm. Expect dark edges, or let the drops work longer.</p>
        </Notice>
      </li>
    );
  }
  if (worst) {
    return (
      <li>
        <Notice kind="warn" title={`${optic.name}: too narrow for some gazes`}>
          <p>
            {gazeSentence(eye, worst.gaze)}: seen from there this pupil is {worst.seen_mm.toFixed(1)} mm
            across, and the optic needs {optic.least_pupil_mm} mm.
          </p>
        </Notice>
      </li>
    );
  }
  return (
    <li class="allows">
      <span class="strong">{optic.name}</span>: wide enough (needs {optic.least_pupil_mm} mm).
    </li>
  );
}
