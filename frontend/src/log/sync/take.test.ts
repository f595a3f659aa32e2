import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { SyncAnswer } from "../../types.gen";
import type { Outgoing } from "../hiding";
import { has } from "../ranges";
import { NO_MEMORY, type SyncMemory } from "./memory";
import { isAnswer, take as takeIn } from "./take";

const HEAD = "a".repeat(64);

/** As `take`, with as much proved as there is to prove, where the test doesn't say how much. */
const take = (
  before: SyncMemory,
  own: string,
  rows: readonly Outgoing[],
  said: SyncAnswer,
  now: number,
  proven = said.kind === "final" ? 99 : 0,
) => takeIn(before, own, { rows, headSha256: HEAD }, said, now, proven);

const sent = (...seqs: number[]): Outgoing[] =>
  seqs.map((seq) => {
    const envelope = { id: `id${seq}`, device: "me", seq, at: 10 * seq, type: "step.done" };
    return { id: `id${seq}`, seq, case: "c", raw: `${JSON.stringify(envelope)}\t{}` };
  });

const answer = (change: Partial<SyncAnswer> = {}): SyncAnswer => ({
  server: "s",
  epoch: "e1",
  kind: "final",
  now: 100,
  app: "1",
  lines: [],
  holds: [],
  cursor: 1,
  pulled: [],
  more: false,
  pack: null,
  recalls: [],
  withdrawn_people: [],
  receipt: null,
  final: null,
  backup: null,
  takes_short: false,
  taken: null,
  ...change,
});

const said = (seq: number, status: "stored" | "repeat" | "waiting" | "refused", index = 0) => ({
  index,
  id: `id${seq}`,
  seq,
  status,
  code: status === "refused" ? ("bad_body" as const) : null,
  reason: null,
});

const known: SyncMemory = {
  ...NO_MEMORY,
  server: "s",
  epoch: "e1",
  cursor: 5,
  held: [[1, 3]],
  final: [[1, 3]],
};
const ALL: [number, number][] = [[1, 1000]];

describe("acknowledgement", () => {
  it("is for what was sent and named, by id", () => {
    const lines = [said(4, "stored"), said(5, "repeat"), said(6, "waiting"), said(99, "stored")];
    const { memory } = take(known, "me", sent(4, 5, 6, 7), answer({ lines, holds: ALL, cursor: 6 }), 1);
    expect(memory.held).toEqual([[1, 6]]);
  });

  it("is for all that was sent where the answer names the head of that batch, and for nothing by another", () => {
    const held = (change: Partial<SyncAnswer>) =>
      take(known, "me", sent(4, 5), answer({ holds: ALL, cursor: 6, ...change }), 1).memory.held;
    expect(held({ taken: HEAD })).toEqual([[1, 5]]);
    expect(held({ taken: "b".repeat(64) })).toEqual([[1, 3]]);
    expect(held({ taken: "b".repeat(64), lines: [said(4, "stored")] })).toEqual([[1, 4]]);
    expect(held({ taken: undefined, lines: [said(4, "stored")] } as never)).toEqual([[1, 4]]); // an older server's
  });

  it("isn't given by `holds`, nor by a status that this version does not know", () => {
    const odd = { ...said(4, "stored"), status: "thought_about" as never };
    const { memory } = take(known, "me", sent(4), answer({ lines: [odd], holds: ALL, cursor: 6 }), 1);
    expect(memory.held).toEqual([[1, 3]]);
  });

  it("is taken back when the server no longer holds the line, in the same epoch too", () => {
    for (const epoch of ["e1", "e2"]) {
      const { memory } = take(
        known,
        "me",
        [],
        answer({
          epoch,
          holds: [
            [1, 1],
            [3, 9],
          ],
          cursor: 6,
        }),
        1,
      );
      expect(memory).toMatchObject({
        held: [
          [1, 1],
          [3, 3],
        ],
        final: [
          [1, 1],
          [3, 3],
        ],
        offeredAgain: 1,
      });
    }
  });

  it("is final only as far as a final server has proved", () => {
    const lines = [4, 5, 6].map((seq, i) => said(seq, "stored", i));
    for (const [proven, final] of [
      [0, [[1, 3]]],
      [5, [[1, 5]]],
      [9, [[1, 6]]],
    ] as const) {
      const answered = answer({ lines, holds: ALL, cursor: 6 });
      expect(take(known, "me", sent(4, 5, 6), answered, 1, proven).memory.final).toEqual(final);
    }
  });

  it("by a hub is not final", () => {
    const lines = [said(4, "stored")];
    const { memory } = take(known, "me", sent(4), answer({ lines, holds: ALL, kind: "hub", cursor: 6 }), 1);
    expect(memory.held).toEqual([[1, 4]]);
    expect(memory.final).toEqual([[1, 3]]);
  });
});

describe("refusal", () => {
  it("is kept by id, or by place where the line could not be named", () => {
    const unnamed = {
      index: 1,
      id: null,
      seq: null,
      status: "refused" as const,
      code: "malformed" as const,
      reason: "r",
    };
    const { memory, refused } = take(
      known,
      "me",
      sent(4, 5),
      answer({ lines: [said(4, "refused"), unnamed], holds: ALL, cursor: 6 }),
      1,
    );
    expect(memory.refused).toEqual([[4, 5]]);
    const of = { case: "c", type: "step.done" };
    expect(refused).toEqual([
      { id: "id4", seq: 4, ...of, at: 40, code: "bad_body", reason: "no reason given" },
      { id: "id5", seq: 5, ...of, at: 50, code: "malformed", reason: "r" },
    ]);
  });

  it("is forgotten in a new epoch", () => {
    const before = { ...known, refused: [[2, 2]] as [number, number][] };
    const out = take(before, "me", [], answer({ epoch: "e2", holds: ALL }), 1);
    expect(out.forgetRefused).toBe(true);
    expect(out.memory.refused).toEqual([]);
    expect(take(before, "me", [], answer({ holds: ALL, cursor: 6 }), 1).memory.refused).toEqual([[2, 2]]);
  });
});

describe("the cursor", () => {
  it("never goes backwards within an epoch, and is taken anew in another", () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.constantFrom("e1", "e2"), fc.nat(50)), { minLength: 1 }), (row) => {
        let memory: SyncMemory = NO_MEMORY;
        for (const [epoch, cursor] of row) {
          const before = memory;
          const out = take(before, "me", [], answer({ epoch, cursor }), 1);
          memory = out.memory;
          const same = before.epoch === epoch;
          if (same) expect(memory.cursor).toBe(Math.max(before.cursor ?? 0, cursor));
          else expect(memory.cursor).toBe(cursor);
          expect(out.fault?.code ?? null).toBe(
            same && cursor < (before.cursor ?? 0) ? "cursor_backwards" : null,
          );
        }
      }),
    );
  });
});

describe("pulled lines", () => {
  it("are placed, the phone's own never taken, the unreadable counted", () => {
    const raw = (device: string, seq: number): string =>
      `${JSON.stringify({ id: `${device}${seq}`, device, seq, at: 1, type: "x", case: "c" })}\t{}`;
    const pulled = [raw("other", 1), raw("me", 2), "no line at all", '{"id":1}\t{}'];
    const out = take(known, "me", [], answer({ pulled, holds: ALL, cursor: 9 }), 1);
    expect(out.pulled).toEqual([
      { device: "other", seq: 1, id: "other1", case: "c", form: "plain", raw: raw("other", 1) },
    ]);
    expect(out.memory.unreadable).toBe(2);
  });
});

it("any answers in any order: what is held was sent and named", () => {
  const line = fc.record({
    seq: fc.integer({ min: 1, max: 12 }),
    status: fc.constantFrom("stored" as const, "repeat" as const, "waiting" as const, "refused" as const),
  });
  const round = fc.record({
    sent: fc.uniqueArray(fc.integer({ min: 1, max: 12 })),
    lines: fc.array(line),
    holds: fc.array(fc.tuple(fc.integer({ min: 1, max: 12 }), fc.integer({ min: 1, max: 12 }))),
    epoch: fc.constantFrom("e1", "e2"),
    kind: fc.constantFrom("final" as const, "hub" as const),
  });
  fc.assert(
    fc.property(fc.array(round), (rounds) => {
      let memory: SyncMemory = NO_MEMORY;
      const named = new Set<number>();
      for (const one of rounds) {
        const lines = one.lines.map(({ seq, status }, i) => said(seq, status, i));
        for (const { seq, status } of one.lines) {
          if (status !== "refused" && one.sent.includes(seq)) named.add(seq);
        }
        const { epoch, kind, holds } = one;
        memory = take(
          memory,
          "me",
          sent(...one.sent),
          answer({ lines, epoch, kind, holds, cursor: 1 }),
          1,
        ).memory;
        for (let seq = 1; seq <= 12; seq++) {
          if (has(memory.held, seq)) expect(named.has(seq)).toBe(true);
          if (has(memory.final, seq)) expect(has(memory.held, seq)).toBe(true);
        }
      }
    }),
  );
});

it("only a whole answer counts as one", () => {
  expect(isAnswer(answer())).toBe(true);
  for (const broken of [
    null,
    [],
    "ok",
    {},
    { ...answer(), kind: "maybe" },
    { ...answer(), lines: [{}] },
    { ...answer(), holds: [[1]] },
    { ...answer(), cursor: 1.5 },
    { ...answer(), pulled: [1] },
    { ...answer(), epoch: null },
  ]) {
    expect(isAnswer(broken)).toBe(false);
  }
});

describe("a receipt", () => {
  const receipt = { device: "me", seq: 3, head_sha256: "ab", at: 100, signature: "s" };

  it("is kept, and outlives an answer that has none", () => {
    const first = take(NO_MEMORY, "me", [], answer({ receipt }), 1).memory;
    expect(first.receipt).toEqual(receipt);
    expect(take(first, "me", [], answer(), 2).memory.receipt).toEqual(receipt);
  });
});
