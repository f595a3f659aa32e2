import { drawFace, FACES } from "./faces";

/** The same scale as the keys, for who would sooner point than count. */
export function Faces({ value, onPick }: { value: number | null; onPick: (score: number) => void }) {
  return (
    <fieldset class="faces">
      <legend class="only-heard">Comfort by faces</legend>
      {FACES.map((face) => (
        <button
          key={face.score}
          type="button"
          class="button fades button-over"
          aria-pressed={value === face.score}
          onClick={() => onPick(face.score)}
        >
          <Drawing score={face.score} />
          <span>{face.word}</span>
        </button>
      ))}
    </fieldset>
  );
}

function Drawing({ score }: { score: number }) {
  const { mouth, brows, shut } = drawFace(score);
  const eye = 2.4 * (1 - shut) + 0.4;
  return (
    <svg class="face" viewBox="0 0 40 40" aria-hidden="true" focusable="false">
      <rect x="3" y="3" width="34" height="34" rx="14" />
      <ellipse class="face-eye" cx="13.5" cy="18" rx="2.4" ry={eye} />
      <ellipse class="face-eye" cx="26.5" cy="18" rx="2.4" ry={eye} />
      <path d={brows[0]} />
      <path d={brows[1]} />
      <path d={mouth} />
    </svg>
  );
}
