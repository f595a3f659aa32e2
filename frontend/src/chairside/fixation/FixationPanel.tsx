/** What each eye can do, and then how this one is guided: only what is possible is offered. */
import type { Eye } from "../../log";
import type { FixationChosen } from "../../types.gen";
import { Button, LinkButton, Notice, PickOne, Segmented } from "../../ui";
import { useDraft } from "../drafts";
import { allFields, firstEye, type PanelProps } from "../guide";
import { advise, requestFor } from "../position/ask";
import { gazeChoices } from "../position/gazes";
import { lightSentence } from "../position/words";
import { record, saving } from "../record";
import { formatRoute } from "../router";
import { EYE_WORD } from "../words";
import { type Method, offers } from "./methods";

const METHOD: Record<Method, { text: string; help: string }> = {
  inside: { text: "Inside light", help: "The imaged eye follows the light in the instrument." },
  outside: {
    text: "Outside light",
    help: "The fellow eye follows a light in the room; the imaged eye turns with it.",
  },
  spoken: { text: "Speech", help: "You say where to look, one direction at a time." },
};

type YesNo = "yes" | "no";
const YES_NO = [
  { id: "yes" as const, text: "Yes" },
  { id: "no" as const, text: "No" },
];
const word = (value: boolean | undefined): YesNo | null =>
  value === undefined ? null : value ? "yes" : "no";

interface Draft {
  imagedSees: YesNo | null;
  fellowSees: YesNo | null;
  squint: YesNo;
  drifts: YesNo;
  method: Method | null;
}

export function FixationPanel({ state, held, round, onSaved }: PanelProps) {
  const { pack } = held;
  const eye = round.eye ?? firstEye(state);
  const fellow: Eye = eye === "right" ? "left" : "right";
  const noted = state.fixation[eye]?.body;
  const other = state.fixation[fellow]?.body; // what was found of the two eyes stands for the second round too
  const [draft, set, drop] = useDraft<Draft>(`${state.id}:fixation:${eye}`, {
    imagedSees: word(noted?.imaged_sees ?? other?.fellow_sees),
    fellowSees: word(noted?.fellow_sees ?? other?.imaged_sees),
    squint: (noted?.squint ?? other?.squint ?? state.flags.includes("squint")) ? "yes" : "no",
    drifts: (noted?.drifts ?? other?.drifts ?? state.flags.includes("nystagmus")) ? "yes" : "no",
    method: noted?.method ?? null,
  });
  const { imagedSees, fellowSees, squint, drifts, method } = draft;
  const optic = pack.optics.find((o) => o.id === (round.optic ?? state.optic)) ?? null;
  const sight = {
    imaged_sees: imagedSees === "yes",
    fellow_sees: fellowSees === "yes",
    squint: squint === "yes",
    drifts: drifts === "yes",
  };
  const known = imagedSees !== null && fellowSees !== null;
  // straight ahead every light is within reach; the gazes below say where one is not
  const list = offers(sight, {
    inside_light: true,
    inside_light_deg: optic?.inside_light_deg ?? 0,
    light_refused: null,
  });
  const possible = known && method !== null && list.find((o) => o.method === method)?.why_not === null;
  const save = async (): Promise<void> => {
    if (method === null) return;
    const body: Omit<FixationChosen, "salt"> = { eye, method, ...sight };
    if ((await record("fixation.chosen", body, { case: state.id })) === null) return;
    drop();
    await onSaved(method);
  };
  return (
    <div class="stack-wide">
      <section class="stack" aria-label="What each eye can do">
        <Segmented
          legend={`Does the ${EYE_WORD[eye].toLowerCase()} (imaged) see the light?`}
          options={YES_NO}
          value={imagedSees}
          onPick={(id) => set({ imagedSees: id })}
        />
        <Segmented
          legend={`Does the ${EYE_WORD[fellow].toLowerCase()} (fellow) see the light?`}
          options={YES_NO}
          value={fellowSees}
          onPick={(id) => set({ fellowSees: id })}
        />
        <Segmented
          legend="Is there a squint?"
          options={YES_NO}
          value={squint}
          onPick={(id) => set({ squint: id })}
        />
        <Segmented
          legend="Do the eyes drift or jerk?"
          options={YES_NO}
          value={drifts}
          onPick={(id) => set({ drifts: id })}
        />
      </section>
      {known ? (
        <PickOne
          legend={`How is the ${EYE_WORD[eye].toLowerCase()} guided?`}
          options={list
            .filter((o) => o.why_not === null)
            .map((o) => ({
              id: o.method,
              text: METHOD[o.method].text,
              help: o.caution === null ? METHOD[o.method].help : `${METHOD[o.method].help} ${o.caution}`,
            }))}
          value={possible ? method : null}
          onPick={(id) => set({ method: id as Method | null })}
        />
      ) : (
        <p class="quiet">First ask what each eye sees. The ways to guide it follow.</p>
      )}
      {known && list.some((o) => o.why_not !== null) && (
        <Notice kind="info" title="Not possible here">
          <ul>
            {list
              .filter((o) => o.why_not !== null)
              .map((o) => (
                <li key={o.method}>
                  <span class="strong">{METHOD[o.method].text}</span>: {o.why_not}
                </li>
              ))}
          </ul>
        </Notice>
      )}
      {known && optic !== null && possible && method !== "spoken" && (
        <Reach state={state} held={held} eye={eye} optic={optic.id} method={method} sight={sight} />
      )}
      {known && optic === null && method === "outside" && (
        <p class="quiet">Where the light has to hang follows once the optic is chosen.</p>
      )}
      <Button kind="main" big wide disabled={!possible || saving.value > 0} onClick={save}>
        Guide by {method === null ? "…" : METHOD[method].text.toLowerCase()}
      </Button>
    </div>
  );
}

/** For every gaze that the fields ask for: where the light goes, or why it cannot be used there. */
function Reach({
  state,
  held,
  eye,
  optic,
  method,
  sight,
}: Pick<PanelProps, "state" | "held"> & {
  eye: Eye;
  optic: string;
  method: Method | null;
  sight: { fellow_sees: boolean };
}) {
  const { pack } = held;
  const gazes = gazeChoices(allFields(pack, state, eye, optic), eye);
  const rows = gazes.map((gaze) => {
    const request = requestFor(pack, state, eye, optic, gaze.gaze_deg);
    const answer = request === null ? null : advise(pack, { ...request, fellow_eye_sees: sight.fellow_sees });
    const limit_deg = pack.optics.find((o) => o.id === optic)?.inside_light_deg ?? 0;
    const said =
      answer === null
        ? "needs the face measures"
        : method === "inside"
          ? answer.inside_light
            ? "within the inside light's range"
            : `beyond the inside light's ${limit_deg}°: use another way`
          : answer.outside_light_cm !== null
            ? lightSentence(answer.outside_light_cm, pack.limits.target_cm)
            : (answer.outside_light_refused?.sentence ?? answer.reason?.sentence ?? "no pose");
    return { id: gaze.id, text: gaze.text, said };
  });
  return (
    <section class="stack-tight" aria-label="For each gaze">
      <h2>For each gaze</h2>
      <dl class="facts facts-long">
        {rows.map((r) => (
          <div key={r.id}>
            <dt>{r.text}</dt>
            <dd>{r.said}</dd>
          </div>
        ))}
      </dl>
      {method === "outside" && (
        <>
          <p class="t-small quiet">
            Measured from the point straight before the {eye === "right" ? "left" : "right"} eye, right and
            left as the patient sees it.
          </p>
          <LinkButton wide href={formatRoute({ page: "light", tail: [state.id] })}>
            This phone as the light
          </LinkButton>
        </>
      )}
    </section>
  );
}
