/** What of the lines of screening, dose, injection and watch can be corrected. A dose is worked anew, never corrected:
 * its numbers belong together. A release is a person's own word: it stands, or it did not happen. */
import type { BodyOf, Pack } from "../../types.gen";
import { ARM_WORD, GIVEN_WORD } from "../tell/dye";
import type { Part } from "./parts";

const words = (record: Record<string, string>) => Object.entries(record).map(([id, text]) => ({ id, text }));
const text = (key: string, label: string, most = 300, needed = false): Part => ({
  key,
  label,
  kind: "text",
  most,
  needed,
});
const NOTE = text("note", "Note");
const ARM: Part = { key: "arm", label: "Arm", kind: "one", options: words(ARM_WORD), mayBeEmpty: true };

export const DYE_PARTS: {
  [T in keyof BodyOf]?: (pack: Pack | null, body: Record<string, unknown>) => Part[];
} = {
  "screening.answered": () => [NOTE],
  // the note of an order's check is the order itself: another order is checked anew
  "dose.checked": (_pack, body) => [
    text("by", "By", 40, true),
    text("role", "Role", 60, true),
    ...(body.what === "order" ? [] : [NOTE]),
  ],
  "dye.injected": () => [ARM],
  "leak.asked": () => [{ key: "leak", label: "A leak", kind: "yesno" }, NOTE],
  // whether the patient was well may not have been said: a yes or no would make up an answer
  "watch.ended": () => [text("why", "Why")],
  "takeaway.given": () => [
    { key: "how", label: "How", kind: "one", options: words(GIVEN_WORD), mayBeEmpty: false },
  ],
};
