/** The parts of an incident's page, and how a link leads to one: the address keeps the page, and names the part. */

import { hrefOf } from "../route";

export type PartId =
  | "classify"
  | "questions"
  | "emergency"
  | "actions"
  | "look"
  | "comments"
  | "like"
  | "case";

export const partHref = (line: string, part: PartId): string =>
  hrefOf("incident", line, new URLSearchParams({ part }));

/** Brings a part to the eye and gives it the focus. */
export function goToPart(part: string): void {
  const found = document.getElementById(`part-${part}`);
  found?.scrollIntoView({ block: "start" });
  found?.focus({ preventScroll: true });
}
