/** One entry of the list, in words. */
import type { Pack } from "../../types.gen";
import type { Unfinished } from "./list";

export function unfinishedWords(item: Unfinished, pack: Pack | null): { title: string; detail: string } {
  switch (item.kind) {
    case "event":
      return {
        title: pack?.choices.safety_what.find((w) => w.id === item.what)?.text ?? item.what,
        detail: `Not said: ${item.lacks.join(", ")}.`,
      };
    case "unended":
      return { title: "An emergency is not ended", detail: "Nobody has said that it is over." };
    case "reaction":
      return { title: "An emergency", detail: "How it was, and what harm, is not recorded." };
    case "loose":
      return { title: "An emergency with no case", detail: "Say whose it was." };
    case "drug":
      return { title: "A drug was given", detail: "Not said: what, how much." };
  }
}
