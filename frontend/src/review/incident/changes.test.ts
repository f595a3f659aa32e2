import { describe, expect, it } from "vitest";
import type { Action, Review } from "../../types.gen";
import { changesBetween } from "./changes";

const EMPTY: Review = {
  incident: "i",
  state: "new",
  count: 0,
  judged: null,
  earlier: [],
  comments: [],
  actions: [],
  links: [],
  closing: null,
  late: false,
  reopened_why: null,
  reopened_by: null,
};
const ACTION: Action = {
  action: "a",
  text: "Replace the latch",
  owner: "Workshop",
  due: "2026-12-01",
  added_by: "p1",
  added_at: 1,
  state: "open",
  ended_by: null,
  ended_at: null,
  note: "",
  changed_by: null,
};
const name = (id: string) => ({ p1: "Ada", p2: "Bo" })[id] ?? "Somebody";
const said = (now: Partial<Review>, was: Partial<Review> = {}) =>
  changesBetween({ ...EMPTY, ...was }, { ...EMPTY, ...now }, name);

describe("who changed what meanwhile", () => {
  it("says nothing where nothing changed", () => expect(said({})).toEqual([]));

  it("names who classified, and how", () => {
    const classified = {
      incident: "i",
      by: "p2",
      harm: "mild" as const,
      preventable: null,
      factors: [],
      salt: "",
    };
    const [one] = said({ judged: { at: 5, classified } });
    expect(one).toContain("Bo classified it");
    expect(one).toContain("harm mild, preventable left open");
  });

  it("tells each action that was added, moved or ended", () => {
    expect(said({ actions: [ACTION] })[0]).toContain("Ada added the action “Replace the latch” for Workshop");
    const moved = { ...ACTION, owner: "Stores", changed_by: "p2" };
    expect(said({ actions: [moved] }, { actions: [ACTION] })[0]).toContain("Bo moved the action");
    const done = { ...ACTION, state: "done" as const, ended_by: "p2", ended_at: 9 };
    expect(said({ actions: [done] }, { actions: [ACTION] })[0]).toContain(
      "Bo set the action “Replace the latch” to done",
    );
  });

  it("tells a comment, a link, and a link taken back", () => {
    expect(said({ comments: [{ line: "c", by: "p1", at: 1, text: "seen" }] })).toEqual(["Ada wrote: “seen”"]);
    const link = { other: "o", by: "p2", at: 1, why: "same optic" };
    expect(said({ links: [link] })).toEqual(["Bo linked a like incident: same optic"]);
    expect(said({}, { links: [link] })).toEqual(["A link to a like incident was taken back."]);
  });

  it("tells asking, closing and opening again", () => {
    const asked = {
      asked_by: "p1",
      asked_at: 3,
      asked_note: "latch replaced",
      closed_by: null,
      closed_at: null,
      closed_note: "",
    };
    expect(said({ closing: asked })).toEqual(["Ada asked for the second look: latch replaced"]);
    const closed = { ...asked, closed_by: "p2", closed_at: 7 };
    expect(said({ closing: closed }, { closing: asked })[0]).toContain("Bo closed it");
    const again = { closing: null, reopened_by: "p2", reopened_why: "it happened again" };
    expect(said(again, { closing: closed })).toEqual(["Bo opened it again: it happened again"]);
  });
});
