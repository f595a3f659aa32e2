import type { ComponentChildren } from "preact";
import { Fold } from "../../ui";

/** A picture with its name, what it shows, and the same as a table. Where there is none, why. */
export function Figure({
  title,
  of,
  about,
  none,
  children,
  table,
}: {
  title: string;
  /** Where several pictures of one title stand on a page: what this one is of. */
  of?: string | undefined;
  about: ComponentChildren;
  none?: string | undefined;
  children?: ComponentChildren;
  table?: ComponentChildren;
}) {
  return (
    <section class="desk-part rates-part" aria-label={of ? `${title}: ${of}` : title}>
      <h2>{title}</h2>
      <div class="rates-prose">{about}</div>
      {none ? (
        <p class="rates-none">
          <strong>No picture:</strong> {none}
        </p>
      ) : (
        <figure class="rates-figure">{children}</figure>
      )}
      {table && (
        <div class="rates-fold">
          <Fold word="The same as a table">{table}</Fold>
        </div>
      )}
    </section>
  );
}

/** Small warnings of a chart, in words. */
export function Warnings({ said }: { said: readonly string[] }) {
  if (said.length === 0) return null;
  return (
    <ul class="rates-rules rates-warnings">
      {said.map((one) => (
        <li key={one}>{one}</li>
      ))}
    </ul>
  );
}

export function Table({
  caption,
  heads,
  rows,
}: {
  caption: string;
  heads: string[];
  rows: ComponentChildren[][];
}) {
  return (
    <div class="rates-wide">
      <table class="rates-small">
        <caption class="only-heard">{caption}</caption>
        <thead>
          <tr>
            {heads.map((head) => (
              <th key={head} scope="col">
                {head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((cells, place) => (
            // rows of a chart have no other name than their place
            <tr key={place}>
              {cells.map((cell, column) => (
                <td key={column} class="number">
                  {cell}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
