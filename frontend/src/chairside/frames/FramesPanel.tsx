/** The frames of one eye with one optic, one at a time, checked off by one tap. */
import { useState } from "preact/hooks";
import { fieldsFor } from "../../pack";
import type { Field, FrameTaken } from "../../types.gen";
import { Button, Icon, LinkButton, Notice } from "../../ui";
import { allFields, firstEye, type PanelProps, situationOf } from "../guide";
import { Caution } from "../position/Caution";
import { gazeSentence } from "../position/words";
import { record, saving } from "../record";
import { hrefOf } from "../router";
import { secondsFor } from "../series/told";
import { MODALITY_WORD } from "../words";
import { PoseFacts } from "./PoseFacts";
import { type FrameRow, frameRows, isLargeMove, nextFrame } from "./plan";
import { WhyAgain } from "./WhyAgain";

const OUTCOME = {
  taken: { icon: "tick", text: "Taken" },
  again: { icon: "warn", text: "Take again" },
  missed: { icon: "cross", text: "Missed" },
} as const;

export function FramesPanel({
  state,
  held,
  round,
  wanted,
  own,
  start,
  onSaved,
  onNone,
}: PanelProps & {
  /** Ids that the step names; null for every field. */
  wanted: string[] | null;
  /** Frames of a plan or pattern, in place of the guidance's list. */
  own?: Field[];
  /** The one to begin with: its id. */
  start?: string | null;
}) {
  const { pack } = held;
  const eye = round.eye ?? firstEye(state);
  const optic = pack.optics.find((o) => o.id === (round.optic ?? state.optic));
  const [picked, setPicked] = useState<string | null>(start ?? null);
  const [drawnBackFor, setDrawnBackFor] = useState<string | null>(null);
  const [again, setAgain] = useState<string | null>(null);
  if (optic === undefined) return <Notice kind="info" title="Choose the optic first" />;
  const fields =
    own ??
    (wanted === null
      ? allFields(pack, state, eye, optic.id)
      : fieldsFor(pack, situationOf(state), { fields: wanted }, { eye, optic: optic.id }));
  const taken = state.frames.map((n) => n.body);
  const rows = frameRows(fields, taken, {
    eye,
    optic: optic.id,
    asked: state.modalities,
  });
  const now = rows.find((r) => r.field.id === picked) ?? nextFrame(rows);
  const last = taken.filter((t) => t.eye === eye && t.optic === optic.id).at(-1);
  const from = last?.gaze_deg ?? [0, 0];
  const moves =
    now !== null &&
    isLargeMove(from, now.field.gaze_deg, pack.thresholds.large_move_deg) &&
    drawnBackFor !== now.field.id;
  const log = async (row: FrameRow, outcome: FrameTaken["outcome"]): Promise<void> => {
    const saved = await record(
      "frame.taken",
      {
        eye,
        optic: optic.id,
        modality: row.modality,
        field: row.field.id,
        gaze_deg: row.field.gaze_deg,
        outcome,
        reason: "",
        dye_s: secondsFor(pack, state.id, row.modality),
      },
      { case: state.id },
    );
    if (saved === null) return;
    setAgain(outcome === "again" ? saved.id : null);
    setPicked(outcome === "again" ? row.field.id : null);
  };
  if (rows.length === 0) {
    return (
      <div class="stack">
        <p>No frame of this list is asked for with this eye and optic.</p>
        <Button kind="main" big wide onClick={() => void onSaved("none asked for")}>
          Go on
        </Button>
      </div>
    );
  }
  const open = rows.filter((r) => r.outcome === null || r.outcome === "again").length;
  // nothing was taken at all: that is never "done", it is passed with a reason
  const none = rows.every((r) => r.tries === 0);
  const asksWhy = onNone ? (
    <Button kind={now === null ? "main" : "plain"} big={now === null} wide onClick={onNone}>
      None taken: say why
    </Button>
  ) : (
    <LinkButton wide href={hrefOf(state.id, "step")}>
      None taken: back to the steps
    </LinkButton>
  );
  return (
    <div class="stack">
      {now === null ? (
        <section class="card card-now stack" aria-label="Done with this list">
          <p class="t-do">Every frame of this list is answered.</p>
          {none ? (
            asksWhy
          ) : (
            <Button kind="main" big wide onClick={() => void onSaved(`${rows.length} of ${rows.length}`)}>
              Go on
            </Button>
          )}
        </section>
      ) : moves ? (
        <section class="card card-now stack" aria-label="Before the gaze moves">
          <h2 class="t-do">Draw back first</h2>
          <ol class="numbered">
            <li>Draw back.</li>
            <li>{gazeSentence(eye, now.field.gaze_deg)}.</li>
            <li>Set the face, and the light, as below.</li>
            <li>Centre on the pupil, forehead on the rest.</li>
            <li>Approach slowly, watching from the side.</li>
          </ol>
          <PoseFacts {...{ pack, state, eye, optic: optic.id, gaze_deg: now.field.gaze_deg }} />
          <Button kind="main" big wide onClick={() => setDrawnBackFor(now.field.id)}>
            Moved, and back in place
          </Button>
        </section>
      ) : (
        <section class="card card-now stack" aria-label="This frame">
          <div>
            <h2 class="t-do">{now.field.name}</h2>
            <p>
              {MODALITY_WORD[now.modality]}. {gazeSentence(eye, now.field.gaze_deg)}.
            </p>
          </div>
          <PoseFacts {...{ pack, state, eye, optic: optic.id, gaze_deg: now.field.gaze_deg }} />
          <Button
            kind="main"
            big
            wide
            icon="tick"
            disabled={saving.value > 0}
            onClick={() => log(now, "taken")}
          >
            Taken
          </Button>
          <div class="halves">
            <Button icon="warn" disabled={saving.value > 0} onClick={() => log(now, "again")}>
              Again
            </Button>
            <Button icon="cross" disabled={saving.value > 0} onClick={() => log(now, "missed")}>
              Missed
            </Button>
          </div>
        </section>
      )}
      <Caution />
      <section class="stack-tight" aria-label="All frames of this list">
        <h2>
          {rows.length - open} of {rows.length} answered
        </h2>
        <ul class="frames">
          {rows.map((row) => (
            <li key={row.field.id}>
              <button
                type="button"
                class={`frame-row ${row.field.id === now?.field.id ? "frame-now" : ""}`}
                aria-current={row.field.id === now?.field.id ? "step" : undefined}
                onClick={() => setPicked(row.field.id)}
              >
                <span class={`frame-mark frame-${row.outcome ?? "open"}`}>
                  {row.outcome !== null && <Icon name={OUTCOME[row.outcome].icon} />}
                </span>
                <span>
                  {row.field.name}
                  <span class="choice-help">
                    {row.outcome === null ? "Open" : OUTCOME[row.outcome].text}
                    {row.outcome === "again" &&
                      row.reason !== "" &&
                      `: ${pack.choices.frame_again.find((c) => c.id === row.reason)?.text.toLowerCase() ?? row.reason}`}
                    {row.tries > 1 && `, ${row.tries} tries`}
                  </span>
                </span>
              </button>
            </li>
          ))}
        </ul>
        {now !== null && none && asksWhy}
        {now !== null && !none && (
          <Button wide onClick={() => void onSaved(`${rows.length - open} of ${rows.length}`)}>
            Go on with {open} open
          </Button>
        )}
        {own === undefined && (
          <LinkButton wide href={hrefOf(state.id, "map", eye)}>
            Map of the retina, and plans
          </LinkButton>
        )}
      </section>
      {again !== null && <WhyAgain {...{ state, pack }} line={again} onClose={() => setAgain(null)} />}
    </div>
  );
}
