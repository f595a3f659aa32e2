import type { Weight as Kind } from "../../types.gen";

const SAID: Record<Kind, { word: string; shape: string }> = {
  // a square: it stands whatever comes
  stop: { word: "Stop", shape: "M3 3h18v18H3Z" },
  must: { word: "Must", shape: "M8 2.5h8L21.5 8v8L16 21.5H8L2.5 16V8Z" },
  should: { word: "Should", shape: "M12 2.5 21.5 12 12 21.5 2.5 12Z" },
  note: { word: "Note", shape: "M12 3a9 9 0 1 0 0 18 9 9 0 0 0 0-18Z" },
};

export const WEIGHT_WORD: Record<Kind, string> = {
  stop: SAID.stop.word,
  must: SAID.must.word,
  should: SAID.should.word,
  note: SAID.note.word,
};

/** How much a step weighs: a word and a shape of its own, filled for a must. */
export function Weight({ kind }: { kind: Kind }) {
  const { word, shape } = SAID[kind];
  return (
    <span class={`weight weight-${kind}`}>
      <svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
        <path d={shape} />
      </svg>
      <span>{word}</span>
    </span>
  );
}
