/** This phone as an outside light: which case and gaze it serves, where it is held, how the dot looks; then the dot. */
import "./light.css";
import "../guide.css";
import { useEffect, useState } from "preact/hooks";
import { type CaseState, isOnlyReaction } from "../../log";
import type { Pack } from "../../types.gen";
import { Button, LinkButton, Loading, Notice, PickOne } from "../../ui";
import { app, useGuidance } from "../app";
import { PageFrame } from "../frame/CaseFrame";
import { allFields } from "../guide";
import { gazeChoices, gazeId } from "../position/gazes";
import { gazeWords } from "../position/words";
import { go } from "../router";
import { startWatch, timed } from "../series/watch";
import { casesInHand } from "../wiring";
import { EYE_WORD, eyesWord } from "../words";
import { type Aim, aimOf } from "./current";
import { DotSettings } from "./DotSettings";
import { LightField } from "./LightField";
import { type Place, placeLines, placeOf } from "./place";
import { steadyFor } from "./steady";

/** In the address where a case would stand: nobody is taken to the one that is likely. */
const PICK = "pick";

export function Light({ tail }: { tail: string[] }) {
  const cases = app.log.cases.value.filter((c) => c.state === "open" && !isOnlyReaction(c));
  const mine = casesInHand(cases, app.log.device.value?.id ?? null);
  const likely = mine.length > 0 ? mine : cases;
  const asked = tail[0] === PICK ? null : (tail[0] ?? null);
  const state = cases.find((c) => c.id === asked);
  const only = tail[0] === undefined && likely.length === 1 ? likely[0]?.id : undefined;
  useEffect(() => {
    if (only !== undefined) go({ page: "light", tail: [only] }, { replace: true });
  }, [only]);
  const guidance = useGuidance(state);
  if (state === undefined) return <PickCase cases={cases} asked={asked} />;
  if (guidance === undefined) return <Loading>Looking for this case's guidance…</Loading>;
  return <OfCase key={state.id} state={state} pack={guidance?.held.pack ?? null} />;
}

/** Which case the light follows; or a light for none, when it is only asked what an eye sees. */
function PickCase({ cases, asked }: { cases: CaseState[]; asked: string | null }) {
  const [shown, setShown] = useState(false);
  if (shown)
    return <LightField state={null} aim={null} place={null} steady={false} onBack={() => setShown(false)} />;
  return (
    <PageFrame title="Outside light">
      {asked !== null && (
        <Notice kind="warn" title="The case in the address is not open on this phone">
          <p>It may be closed, or not here yet. The light still works without it.</p>
        </Notice>
      )}
      <section class="stack" aria-labelledby="follow">
        <h2 id="follow">Which case does it follow?</h2>
        {cases.length === 0 && <p class="quiet">No case is open at this site, as far as this phone knows.</p>}
        <ul class="stack-tight">
          {cases.map((c) => (
            <li key={c.id}>
              <LinkButton wide href={`#/light/${encodeURIComponent(c.id)}`}>
                {c.code || "Code not here yet"}, {eyesWord(c.eyes).toLowerCase()}
              </LinkButton>
            </li>
          ))}
        </ul>
      </section>
      <DotSettings steady={false} />
      <Button wide onClick={() => setShown(true)}>
        Show a light without a case
      </Button>
    </PageFrame>
  );
}

function OfCase({ state, pack }: { state: CaseState; pack: Pack | null }) {
  startWatch();
  const [shown, setShown] = useState(false);
  const [picked, setPicked] = useState<string | null>(null);
  const course = timed.value.find((t) => t.state.id === state.id)?.course ?? null;
  const followed = pack === null ? null : aimOf(pack, state, course);
  const gazes =
    pack === null || followed === null
      ? []
      : gazeChoices(allFields(pack, state, followed.eye, followed.optic), followed.eye);
  const own = gazes.find((g) => g.id === picked);
  const aim: Aim | null =
    own === undefined || followed === null ? followed : { ...followed, gaze_deg: own.gaze_deg, name: "" };
  const place = pack === null || aim === null ? null : placeOf(pack, state, aim);
  const refused = place?.kind === "refused";
  const steady = steadyFor(pack, state);
  if (shown) return <LightField {...{ state, aim, place, steady }} onBack={() => setShown(false)} />;
  return (
    <PageFrame
      title="Outside light"
      act={
        <Button kind="main" big disabled={refused} onClick={() => setShown(true)}>
          Show the light
        </Button>
      }
    >
      <section class="stack" aria-label="Where it is held">
        <p>
          <span class="strong">{state.code}</span>
          {aim !== null && `, ${EYE_WORD[aim.eye].toLowerCase()} is imaged`}
          {aim !== null && aim.name !== "" && ` · ${aim.name}`}
        </p>
        <Where aim={aim} place={place} />
      </section>
      {gazes.length > 1 && followed !== null && (
        <PickOne
          legend="Where the eye looks"
          options={[
            { id: "follow", text: "As the case goes", help: gazeWords(followed.eye, followed.gaze_deg) },
            ...gazes,
          ]}
          value={own === undefined ? "follow" : gazeId(own.gaze_deg)}
          onPick={(id) => setPicked(id === "follow" ? null : id)}
        />
      )}
      <DotSettings steady={steady} />
      <LinkButton wide href={`#/light/${PICK}`} icon="back">
        Another case
      </LinkButton>
    </PageFrame>
  );
}

/** The place in large type; or why there is none. */
function Where({ aim, place }: { aim: Aim | null; place: Place | null }) {
  if (aim === null || place === null) {
    return (
      <Notice kind="info" title="The case names no gaze yet">
        <p>Choose the optic and measure the face there. Until then, hold the light where you are told to.</p>
      </Notice>
    );
  }
  if (place.kind === "refused") {
    return (
      <Notice kind="warn" title="No outside light for this gaze" loud>
        <p>{place.why}</p>
        <p>Guide by the inside light or by speech.</p>
      </Notice>
    );
  }
  if (place.kind === "unknown") {
    return (
      <Notice kind="info" title="No place is computed">
        <p>{place.why}</p>
        <p>Hold the light where the photographer says.</p>
      </Notice>
    );
  }
  const fellow = aim.eye === "right" ? "left" : "right";
  return (
    <div class="card card-now">
      <h2>Hold the dot</h2>
      <ul class="light-place t-do">
        {placeLines(place).map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
      <p class="t-small quiet">
        From the point straight before the {fellow} eye, which follows the light; right and left as the
        patient sees it.
      </p>
    </div>
  );
}
