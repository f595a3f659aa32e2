import type { Noted } from "../../log";
import type { ComfortNoted } from "../../types.gen";
import { clock } from "../words";

const SHOWN = 8;

/** The last scores as bars with their numbers: the number says it, the bar lets it be seen. */
export function Trend({ noted }: { noted: readonly Noted<ComfortNoted>[] }) {
  if (noted.length === 0) return <p class="quiet t-small">No score in this case yet.</p>;
  return (
    <figure class="trend">
      <figcaption class="t-small quiet">So far</figcaption>
      <ol>
        {noted.slice(-SHOWN).map((n) => (
          <li key={n.line}>
            <span class="strong number">{n.body.score}</span>
            <svg viewBox="0 0 10 20" preserveAspectRatio="none" aria-hidden="true" focusable="false">
              <rect x="0" y={20 - n.body.score * 2 - 1} width="10" height={n.body.score * 2 + 1} />
            </svg>
            <span class="t-small quiet">{clock(n.at)}</span>
          </li>
        ))}
      </ol>
    </figure>
  );
}
