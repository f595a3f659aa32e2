/** What of a reaction's lines can be corrected. That the way out was opened, or a sign seen, stands or did not happen. */
import type { BodyOf, Pack } from "../../types.gen";
import { tablesOf } from "../reaction/tables";
import type { Part } from "./parts";

const text = (key: string, label: string, most = 60, needed = false): Part => ({
  key,
  label,
  kind: "text",
  most,
  needed,
});
const NOTE = text("note", "Note", 500);

export const REACTION_PARTS: {
  [T in keyof BodyOf]?: (pack: Pack | null, body: Record<string, unknown>) => Part[];
} = {
  "reaction.sign": (p) => [
    { key: "sign", label: "Sign", kind: "one", options: tablesOf(p).signs, mayBeEmpty: false },
  ],
  "reaction.action": (p) => [
    { key: "action", label: "Done", kind: "one", options: tablesOf(p).actions, mayBeEmpty: false },
    text("drug", "Drug, as said"),
    text("dose", "Dose, as said"),
    text("by", "By"),
    text("detail", "Detail", 300),
  ],
  "reaction.observed": (p) => [
    ...tablesOf(p).observations.map(
      (o): Part => ({
        key: o.id,
        label: o.text,
        kind: "number",
        rule: { unit: o.unit, least: o.least, most: o.most, decimals: 0 },
        mayBeEmpty: true,
      }),
    ),
    NOTE,
  ],
  "reaction.handed_over": () => [text("to", "To", 60, true)],
  "reaction.ended": () => [
    {
      key: "outcome",
      label: "How it ended",
      kind: "one",
      options: [
        { id: "case_goes_on", text: "The case went on" },
        { id: "case_stopped", text: "No more was imaged" },
      ],
      mayBeEmpty: false,
    },
    NOTE,
  ],
};
