import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { BodyOf } from "../types.gen";
import { stepKey } from "./case";
import { foldCase } from "./fold";
import type { Line } from "./line";
import { OPENED } from "./testing/bodies";

type Fields<T extends keyof BodyOf> = Omit<BodyOf[T], "salt">;

function made(device: string, seq: number, at: number, type: string, body: Record<string, unknown>): Line {
  return {
    envelope: {
      id: `${device}-${seq}`,
      device,
      seq,
      prev: "",
      body_sha256: "",
      at,
      mono: 0,
      boot: "",
      actor: null,
      case: "c",
      practice: false,
      pack: `pack-${device}`,
      type,
      v: 1,
    },
    body,
  };
}
const line = <T extends keyof BodyOf>(
  device: string,
  seq: number,
  at: number,
  type: T,
  body: Fields<T>,
): Line => made(device, seq, at, type, { salt: "x", ...body });

describe("a case", () => {
  const lines = [
    line("a", 1, 10, "case.opened", OPENED),
    line("a", 2, 20, "optic.chosen", { optic: "wide" }),
    line("a", 3, 30, "step.done", { step: "s", eye: "right", optic: "ultra", value: "v" }),
    line("a", 4, 40, "step.skipped", { step: "t", reason: "none" }),
    line("a", 5, 50, "optic.chosen", { optic: "ultra" }),
    line("a", 6, 60, "optic.chosen", { optic: "wide" }),
    line("a", 7, 70, "case.handed_over", { to: "B" }),
    line("b", 1, 80, "case.taken", { seen: 7 }),
    line("b", 2, 90, "comfort.noted", { score: 4, bothers: ["light"] }),
    made("b", 3, 95, "thing.of.later", { x: 1 }),
    line("b", 4, 99, "case.closed", { outcome: "completed" }),
  ];

  it("stands as its lines say", () => {
    const state = foldCase(lines);
    expect(state).toMatchObject({
      code: "T-1",
      state: "closed",
      outcome: "completed",
      openedAt: 10,
      closedAt: 99,
      pack: "pack-a",
      optic: "wide",
      optics: ["wide", "ultra"],
      opticRuns: ["wide", "ultra", "wide"],
      heldBy: "b",
      handedTo: null,
    });
    expect(state?.steps.get(stepKey("s", "right", "ultra"))).toMatchObject({ state: "done", value: "v" });
    expect(state?.steps.get("t||")).toMatchObject({ state: "skipped", reason: "none" });
    expect(state?.comfort[0]).toMatchObject({ device: "b", body: { score: 4 } });
  });

  it("asks an optic's rounds again when it is put on again, and those of no other", () => {
    const run = [
      line("a", 1, 10, "case.opened", OPENED),
      line("a", 2, 20, "optic.chosen", { optic: "wide" }),
      line("a", 3, 30, "step.done", { step: "latched", optic: "wide" }),
      line("a", 4, 40, "step.done", { step: "identity" }),
      line("a", 5, 50, "optic.chosen", { optic: "wide" }), // chosen twice, but never taken off
      line("a", 6, 60, "optic.chosen", { optic: "ultra" }),
      line("a", 7, 70, "step.done", { step: "latched", optic: "ultra" }),
    ];
    const marks = (lines_: Line[]) => [...(foldCase(lines_)?.steps.keys() ?? [])];
    expect(marks(run)).toEqual(["latched||wide", "identity||", "latched||ultra"]);
    const again = [...run, line("a", 8, 80, "optic.chosen", { optic: "wide" })];
    expect(marks(again)).toEqual(["identity||", "latched||ultra"]);
    expect(foldCase(again)?.opticRuns).toEqual(["wide", "ultra", "wide"]);
  });

  it("keeps a type that this version does not know, and goes on", () => {
    const odd = foldCase(lines)?.entries.find(({ type }) => type === "thing.of.later");
    expect(odd).toMatchObject({ known: false, body: null, withdrawn: false });
  });

  it("is not stopped by a known type with a body that can't be read", () => {
    const state = foldCase([...lines, made("b", 5, 100, "frame.taken", { eye: "third" })]);
    expect(state?.frames).toEqual([]);
    expect(state?.entries.at(-1)?.known).toBe(false);
  });

  it("stands before its opening line has come", () => {
    expect(foldCase(lines.slice(7))).toMatchObject({ code: "", heldBy: "b" });
    expect(foldCase([])).toBeNull();
  });
});

describe("amendments", () => {
  const opened = line("a", 1, 10, "case.opened", OPENED);
  const event = line("a", 2, 20, "comfort.noted", { score: 3, bothers: [] });
  const amend = (
    seq: number,
    target: string,
    body: Record<string, unknown> | null,
    device = "a",
    at = seq * 10,
  ): Line => line(device, seq, at, "line.amended", { line: target, body, why: "w" });
  const scores = (...more: Line[]): (number | undefined)[] =>
    foldCase([opened, event, ...more])?.comfort.map(({ body }) => body.score) ?? [];

  it("the last that stands decides, and both stay", () => {
    const state = foldCase([
      opened,
      event,
      amend(3, "a-2", { score: 5, bothers: [] }),
      amend(4, "a-2", { score: 6, bothers: [] }),
    ]);
    expect(state?.comfort.map(({ line: id, body }) => [id, body.score])).toEqual([["a-2", 6]]);
    expect(state?.entries).toHaveLength(4);
    expect(state?.entries[1]).toMatchObject({ amendedBy: "a-4", withdrawn: false, body: { score: 6 } });
  });

  it("null says that it did not happen, and can itself be taken back", () => {
    expect(scores(amend(3, "a-2", null))).toEqual([]);
    expect(scores(amend(3, "a-2", null), amend(4, "a-3", null))).toEqual([3]);
    expect(scores(amend(3, "a-2", { score: 9, bothers: [] }), amend(4, "a-3", null))).toEqual([3]);
  });

  it("counts although a slow clock puts it before its target", () => {
    expect(scores(amend(1, "a-2", { score: 8, bothers: [] }, "b", 1))).toEqual([8]);
  });

  it("changes nothing when its body does not fit, or its target isn't there", () => {
    expect(scores(amend(3, "a-2", { nonsense: true }))).toEqual([3]);
    expect(scores(amend(3, "elsewhere", null))).toEqual([3]);
    expect(scores(amend(3, "a-3", null))).toEqual([3]);
  });

  it("reopens a case whose closing did not happen", () => {
    const closed = line("a", 3, 30, "case.closed", { outcome: "completed" });
    expect(foldCase([opened, closed])?.state).toBe("closed");
    expect(foldCase([opened, closed, amend(4, "a-3", null)])).toMatchObject({
      state: "open",
      outcome: null,
      closedAt: null,
    });
  });
});

describe("any lines", () => {
  const score = fc.integer({ min: 0, max: 10 });
  const some = fc.array(
    fc.record({
      device: fc.constantFrom("a", "b", "c"),
      at: fc.integer({ min: 0, max: 30 }),
      what: fc.oneof(
        fc.constant({ type: "case.opened", body: OPENED as Record<string, unknown> }),
        score.map((n) => ({
          type: "comfort.noted",
          body: { score: n, bothers: [] } as Record<string, unknown>,
        })),
        fc.constantFrom("wide", "ultra").map((optic) => ({ type: "optic.chosen", body: { optic } })),
        fc.constant({ type: "case.closed", body: { outcome: "completed" } }),
        fc.constant({ type: "unheard.of", body: {} }),
        fc
          .record({
            device: fc.constantFrom("a", "b", "c"),
            seq: fc.integer({ min: 1, max: 8 }),
            to: fc.option(score),
          })
          .map(({ device, seq, to }) => ({
            type: "line.amended",
            body: {
              line: `${device}-${seq}`,
              why: "w",
              body: to === null ? null : { score: to, bothers: [] },
            },
          })),
      ),
    }),
    { maxLength: 24 },
  );

  it("fold to the same case in any order of arrival, also when some come twice", () => {
    fc.assert(
      fc.property(some, fc.infiniteStream(fc.nat()), (drafts, shuffle) => {
        const seqs = new Map<string, number>();
        const lines = drafts.map(({ device, at, what }) => {
          const seq = (seqs.get(device) ?? 0) + 1;
          seqs.set(device, seq);
          return made(device, seq, at, what.type, what.body);
        });
        const keys = shuffle[Symbol.iterator]();
        const shuffled = [...lines, ...lines.slice(0, 3)]
          .map((one) => ({ one, key: Number(keys.next().value) }))
          .sort((x, y) => x.key - y.key)
          .map(({ one }) => one);
        expect(foldCase(shuffled)).toEqual(foldCase(lines));
        // each device's own order always stands
        for (const device of seqs.keys()) {
          const own = (foldCase(lines)?.entries ?? [])
            .filter((entry) => entry.device === device)
            .map(({ seq }) => seq);
          expect(own).toEqual([...own].sort((x, y) => x - y));
        }
      }),
      { numRuns: 300 },
    );
  });
});
