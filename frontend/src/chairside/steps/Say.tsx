/** What the patient is told, in the language that is picked, with a word where nobody has reviewed it. */
import { signal } from "@preact/signals";
import type { Pack } from "../../types.gen";
import { Segmented, Tag } from "../../ui";

/** The patient's language; one patient has one, so it stays from step to step until the app is closed. */
const language = signal<string | null>(null);

export function Say({ pack, phrase }: { pack: Pack; phrase: string }) {
  if (phrase === "") return null;
  const spoken = Object.keys(pack.phrases);
  const picked = language.value !== null && spoken.includes(language.value) ? language.value : pack.language;
  const text = pack.phrases[picked]?.[phrase] ?? pack.phrases[pack.language]?.[phrase];
  if (text === undefined) return null;
  return (
    <div class="stack-tight">
      <figure class="say">
        <figcaption class="t-small">Say</figcaption>
        <blockquote lang={picked}>{text}</blockquote>
        {pack.phrases_unreviewed.includes(picked) && <Tag icon="warn">Wording not yet reviewed</Tag>}
      </figure>
      {spoken.length > 1 && (
        <Segmented
          legend="Language"
          hideLegend
          options={spoken.map((id) => ({ id, text: id.toUpperCase() }))}
          value={picked}
          onPick={(id) => {
            language.value = id;
          }}
        />
      )}
    </div>
  );
}
