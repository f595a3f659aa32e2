import { OpticPanel } from "../panels";
import type { CaseScreenProps } from "../routes";
import { finishRound } from "../steps/finish";

export function Screen({ state, held }: CaseScreenProps) {
  return (
    <article class="stack">
      <h1>Choose the optic</h1>
      <OpticPanel
        state={state}
        held={held}
        round={{ eye: null, optic: null }}
        onSaved={(value) => finishRound(state, held, "optic", { eye: null, optic: null }, value)}
      />
    </article>
  );
}
