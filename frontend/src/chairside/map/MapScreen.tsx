import type { Eye } from "../../log";
import { Segmented } from "../../ui";
import { firstEye } from "../guide";
import { go } from "../router";
import type { CaseScreenProps } from "../routes";
import { EYE_WORD } from "../words";
import { MapPanel, viewOf } from "./MapPanel";

/** The map of one eye; which stands in the address, so that a reload comes back to it. */
export function MapScreen({ state, held, tail }: CaseScreenProps) {
  const eye: Eye = state.eyes.find((e) => e === tail[0]) ?? firstEye(state);
  const view = viewOf(tail[1]);
  return (
    <article class="stack">
      <h1>Map of the retina</h1>
      {state.eyes.length > 1 && (
        <Segmented
          legend="Eye"
          hideLegend
          options={state.eyes.map((id) => ({ id, text: EYE_WORD[id] }))}
          value={eye}
          onPick={(id) =>
            go({ page: "case", id: state.id, screen: "map", tail: [id, view] }, { replace: true })
          }
        />
      )}
      <MapPanel key={eye} state={state} held={held} eye={eye} view={view} />
    </article>
  );
}
