import { generate, mode } from "lean-qr";
import { useMemo } from "preact/hooks";

const QUIET_ZONE = 4; // modules of white that ISO/IEC 18004 asks for around the symbol

/** Black on white in both themes, since readers expect it. Drawn as one path, so that no style attribute is needed. */
export function QrCode({ text, label }: { text: string; label: string }) {
  const { size, path } = useMemo(() => draw(text), [text]);
  const side = size + 2 * QUIET_ZONE;
  return (
    <svg
      class="desk-qr"
      role="img"
      aria-label={label}
      viewBox={`${-QUIET_ZONE} ${-QUIET_ZONE} ${side} ${side}`}
      shape-rendering="crispEdges"
    >
      <rect x={-QUIET_ZONE} y={-QUIET_ZONE} width={side} height={side} fill="#fff" />
      <path d={path} fill="#000" />
    </svg>
  );
}

/** Each run of dark modules in a row is one rectangle. */
function draw(text: string): { size: number; path: string } {
  const code = generate(mode.ascii(text)); // one segment of bytes: every reader takes that
  const parts: string[] = [];
  for (let y = 0; y < code.size; y++) {
    for (let x = 0; x < code.size; x++) {
      if (!code.get(x, y)) continue;
      const from = x;
      while (code.get(x, y)) x++;
      parts.push(`M${from} ${y}h${x - from}v1h${from - x}z`);
    }
  }
  return { size: code.size, path: parts.join("") };
}
