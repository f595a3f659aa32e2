import type { TouchWord } from "../../types.gen";
import { Icon } from "../../ui";
import { touchWords } from "./words";

const SHAPE = { likely_clear: "tick", close: "warn", expect_to_adjust: "danger" } as const;

/** How near, in words, with a shape: never by colour alone. */
export function TouchMark({ word, long }: { word: TouchWord; long?: boolean }) {
  const said = touchWords(word);
  return (
    <span class={`touch touch-${word}`}>
      <Icon name={SHAPE[word]} />
      <span>
        <span class="strong">{said.short}</span>
        {long && <span class="touch-long">. {said.long}</span>}
      </span>
    </span>
  );
}
