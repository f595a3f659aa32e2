import { describe, expect, it } from "vitest";
import type { IncidentRow, Review, Timeline } from "../../types.gen";
import { openQuestions } from "./questions";

const row = { line: "e", reached_patient: true, harm: "mild" } as IncidentRow;
const judged = {
  at: 1,
  classified: { harm: "mild", preventable: "no", factors: [] },
} as unknown as Review["judged"];
const review = { state: "in_review", late: false, judged, actions: [], closing: null } as unknown as Review;
const action = (state: string, due: string) => ({ action: due, text: "x", owner: "y", state, due });
const parts = (...given: Parameters<typeof openQuestions>) => openQuestions(...given).map((one) => one.part);

describe("what is still to be answered", () => {
  it("is nothing once all is said", () => {
    expect(openQuestions(row, review, null)).toEqual([]);
  });

  it("names what the reporter and the desk left open", () => {
    expect(openQuestions({ ...row, reached_patient: null }, { ...review, judged: null }, null)).toEqual([
      { part: "classify", text: "Nobody said whether it reached the patient." },
      { part: "classify", text: "It is not classified." },
    ]);
    const open = {
      at: 1,
      classified: { harm: null, preventable: null, factors: [] },
    } as unknown as Review["judged"];
    expect(parts({ ...row, harm: null }, { ...review, judged: open }, null)).toEqual(
      Array(3).fill("classify"),
    );
    // a near miss that reached nobody has no degree of harm to give
    expect(openQuestions({ ...row, reached_patient: false, harm: null }, review, null)).toEqual([]);
  });

  it("counts actions that are open, and those past their day", () => {
    const actions = [
      action("open", "2020-01-31"),
      action("open", "2999-01-31"),
      action("done", "2020-01-01"),
    ];
    const asked = openQuestions(row, { ...review, actions } as unknown as Review, null);
    expect(asked).toEqual([{ part: "actions", text: "2 actions are open, 1 overdue." }]);
  });

  it("asks about an emergency that the rule joined, and of one without an end", () => {
    const join = { reaction: "r", incident: "e", how: "rule", parted: false };
    const timeline = {
      joins: [join, { ...join, incident: "other" }, { ...join, parted: true }, { ...join, how: "said" }],
      reactions: [{ ended_at: null }, { ended_at: 5 }],
      entries: [{ known: true }, { known: false }],
    } as unknown as Timeline;
    expect(parts(row, review, timeline)).toEqual(["emergency", "case", "case"]);
  });

  it("stays silent on what is closed until lines come late", () => {
    const closed = { ...review, state: "closed", judged: null } as Review;
    expect(openQuestions(row, closed, null)).toEqual([]);
    expect(parts(row, { ...closed, late: true }, null)).toEqual(["case", "classify"]);
  });
});
