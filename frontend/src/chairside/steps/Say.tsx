/** What the patient is told, in the language of the case; and the way to the card that shows it in large print. */
import type { CaseState } from "../../log";
import type { Pack } from "../../types.gen";
import { Tag } from "../../ui";
import { directionOf, languageFor, phraseIn } from "../languages";
import { formatRoute } from "../router";

export function Say({ pack, phrase, state }: { pack: Pack; phrase: string; state: CaseState }) {
  if (phrase === "") return null;
  const said = phraseIn(pack, languageFor(pack, state), phrase);
  if (said === null) return null;
  const own = pack.phrases[pack.language]?.[phrase];
  return (
    <figure class="say">
      <figcaption class="t-small">Say</figcaption>
      <blockquote lang={said.language} dir={directionOf(said.language)}>
        {said.text}
      </blockquote>
      {said.language !== pack.language && (
        <p class="t-small quiet" lang={pack.language}>
          {own}
        </p>
      )}
      {said.unreviewed && <Tag icon="warn">Wording not yet reviewed</Tag>}
      <a class="say-card" href={formatRoute({ page: "card", tail: [phrase, state.id] })}>
        Show it as a card
      </a>
    </figure>
  );
}
