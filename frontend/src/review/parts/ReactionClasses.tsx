import type { Classed, ReactionRow } from "../../types.gen";
import { namesFrom, packOf } from "../names";
import { clockSeconds } from "../when";

/** What published scales make of the signs of each reaction. Derived for this page, never stored; only once it is over. */
export function ReactionClasses({ rows }: { rows: readonly ReactionRow[] }) {
  if (rows.length === 0) return null;
  return (
    <section class="card stack" aria-label="Class of the reaction">
      <h2>Class of the reaction, by published scales</h2>
      <p class="quiet">
        Looked up from the signs as they were logged. The scales disagree, and none is a diagnosis: what it
        was is for the physician to say.
      </p>
      {rows.map((row) => (
        <OneReaction key={row.line} row={row} />
      ))}
    </section>
  );
}

function OneReaction({ row }: { row: ReactionRow }) {
  return (
    <div>
      <h3>
        Reaction of {clockSeconds(row.at)}
        {row.ended_at === null ? ", not ended" : ` to ${clockSeconds(row.ended_at)}`}
      </h3>
      {row.why !== "" && <p>{row.why}</p>}
      {row.classes.length > 0 && (
        <dl class="facts desk-facts">
          {row.classes.map((classed) => (
            <div key={classed.scale} class="desk-fact">
              <dt>{classed.scale_name}</dt>
              <dd>
                <OneClass classed={classed} pack={row.pack} />
              </dd>
            </div>
          ))}
        </dl>
      )}
    </div>
  );
}

function OneClass({ classed, pack }: { classed: Classed; pack: string | null }) {
  const names = namesFrom(packOf(pack));
  const said = (signs: readonly string[]): string =>
    signs.map((sign) => names.sign(sign).toLowerCase()).join(", ");
  return (
    <>
      <span class="strong">{classed.class_name ?? "No class: no sign seen is placed in it"}</span>
      {classed.by.length > 0 && `, by ${said(classed.by)}`}
      {classed.not_placed.length > 0 && `. Not placed in this scale: ${said(classed.not_placed)}`}
      <span class="t-small quiet"> (table of {classed.version})</span>
    </>
  );
}
