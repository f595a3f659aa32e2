/** Faces for the scale of comfort, drawn by us from one number each. Pure. */

interface FaceMark {
  score: number;
  word: string;
}

/** Five of the eleven scores, with a word each: between two faces there is a key for every whole number. */
export const FACES: readonly FaceMark[] = [
  { score: 0, word: "At ease" },
  { score: 3, word: "A little uneasy" },
  { score: 5, word: "Uneasy" },
  { score: 8, word: "Hard to take" },
  { score: 10, word: "As bad as can be" },
];

export interface Drawn {
  mouth: string;
  brows: [string, string];
  /** How far the lids are shut, 0 to 1. */
  shut: number;
}

/** Lines of a face on a square of 40: the mouth turns over, the brows draw together, the eyes close. */
export function drawFace(score: number): Drawn {
  const bad = Math.min(10, Math.max(0, score)) / 10;
  const bend = 5 - 11 * bad;
  const at = 27 + 2 * bad;
  const inner = 12.5 - 1 * bad + 3 * bad * bad;
  const outer = 12.5 + 1.5 * bad;
  const n = (value: number): string => value.toFixed(1);
  return {
    mouth: `M12 ${n(at)}Q20 ${n(at + bend)} 28 ${n(at)}`,
    brows: [`M10 ${n(outer)}L16.5 ${n(inner)}`, `M30 ${n(outer)}L23.5 ${n(inner)}`],
    shut: Math.max(0, (bad - 0.6) / 0.4),
  };
}
