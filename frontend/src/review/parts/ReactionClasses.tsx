import type { ReactionRow } from "../../types.gen";
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
      {row.classes.length > 0 && <Classes row={row} />}
    </div>
  );
}

function Classes({ row }: { row: ReactionRow }) {
  const names = namesFrom(packOf(row.pack));
  const said = (signs: readonly string[]): string =>
    signs.map((sign) => names.sign(sign).toLowerCase()).join(", ") || "none";
  return (
    <table class="desk-table">
      <caption class="only-heard">The class on each scale, and the signs that it follows from</caption>
      <thead>
        <tr>
          <th scope="col">Scale</th>
          <th scope="col">Class</th>
          <th scope="col">By these signs</th>
          <th scope="col">Seen, not placed in this scale</th>
          <th scope="col">Table of</th>
        </tr>
      </thead>
      <tbody>
        {row.classes.map((classed) => (
          <tr key={classed.scale}>
            <th scope="row">{classed.scale_name}</th>
            <td class="strong">{classed.class_name ?? "no class: none of the signs is placed in it"}</td>
            <td>{said(classed.by)}</td>
            <td>{said(classed.not_placed)}</td>
            <td class="number">{classed.version}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
