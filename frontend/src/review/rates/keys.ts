/** What a rate is split by, in words. */

import type { Names } from "../names";
import { sentence } from "../words";
import type { RateBy } from "./address";
import { monthWords } from "./figures";

export function keyWords(by: RateBy, names: Names): (key: string) => string {
  return (key) => {
    if (key === "") return by === "none" ? "All" : "Not known";
    switch (by) {
      case "dye":
        return names.dye(key);
      case "optic":
        return names.optic(key);
      case "what":
        return sentence(names.choice("safety_what", key));
      case "site":
        return names.site(key);
      case "month":
        return monthWords(key);
      case "desk_harm":
        return deskHarmWords(key);
      default:
        return sentence(key);
    }
  };
}

export const deskHarmWords = (key: string): string =>
  ({ unjudged: "Not judged yet", left_open: "Left open at the desk" })[key] ?? sentence(key);
