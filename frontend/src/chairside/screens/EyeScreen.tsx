/** A panel for one eye, opened by itself: which eye stands in the address, so that a reload comes back to it. */
import type { ComponentType } from "preact";
import type { Eye } from "../../log";
import type { Screen as ScreenName } from "../../types.gen";
import { Segmented } from "../../ui";
import { firstEye, type PanelProps } from "../guide";
import { go } from "../router";
import type { CaseScreenProps } from "../routes";
import { finishRound } from "../steps/finish";
import { EYE_WORD } from "../words";

export function EyeScreen({
  state,
  held,
  tail,
  name,
  title,
  Panel,
}: CaseScreenProps & {
  name: ScreenName;
  title: string;
  Panel: ComponentType<PanelProps>;
}) {
  const asked = state.eyes.find((e) => e === tail[0]);
  const eye: Eye = asked ?? firstEye(state);
  return (
    <article class="stack">
      <h1>{title}</h1>
      {state.eyes.length > 1 && (
        <Segmented
          legend="Eye"
          hideLegend
          options={state.eyes.map((id) => ({ id, text: EYE_WORD[id] }))}
          value={eye}
          onPick={(id) => go({ page: "case", id: state.id, screen: name, tail: [id] }, { replace: true })}
        />
      )}
      <Panel
        key={eye}
        state={state}
        held={held}
        round={{ eye, optic: state.optic }}
        onSaved={(value) => finishRound(state, held, name, { eye, optic: state.optic }, value)}
      />
    </article>
  );
}
