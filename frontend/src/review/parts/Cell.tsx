import type { ComponentChildren } from "preact";

/** A cell that still says what it holds where the table has become a list of cards. */
export function Cell({
  label,
  head,
  children,
}: {
  label: string;
  /** Names its row: stands above the others, without its label. */
  head?: "row" | "alone";
  children: ComponentChildren;
}) {
  const shared = { class: `desk-cell ${head ? "desk-cell-head" : ""}`, "data-label": label };
  const inside = <div class="number">{children}</div>;
  return head === "row" ? (
    <th scope="row" {...shared}>
      {inside}
    </th>
  ) : (
    <td {...shared}>{inside}</td>
  );
}
