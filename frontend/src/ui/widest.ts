/** A column is never narrower than its longest word. CSS cannot ask for that of columns of which as many as fit stand
 * side by side, so the word is measured here, in the page's own face. */
let pen: CanvasRenderingContext2D | null = null;
const known = new Map<string, number>();

/** Width of the longest word of these texts when it is bold, in em. */
export function widestWord(texts: readonly string[]): number {
  return Math.max(0, ...texts.flatMap((text) => text.match(/[^\s-]+-?/g) ?? []).map(widthOf));
}

function widthOf(word: string): number {
  let width = known.get(word);
  if (width === undefined) {
    if (pen === null) {
      pen = document.createElement("canvas").getContext("2d");
      if (pen) pen.font = `700 100px ${getComputedStyle(document.body).fontFamily}`;
    }
    width = (pen?.measureText(word).width ?? word.length * 70) / 100;
    known.set(word, width);
  }
  return width;
}
