import { signal } from "@preact/signals";
import { describe, expect, it, vi } from "vitest";
import type { CaseState, LockView, Log } from "../log";
import type { Held, Shelf, Verdict } from "../pack";
import type { SyncAnswer } from "../types.gen";
import { casesInHand, packTrouble, wire } from "./wiring";

const open = (more: Partial<CaseState> = {}) =>
  ({
    state: "open",
    heldBy: "me",
    handedTo: null,
    entries: [],
    opened: true,
    ...more,
  }) as unknown as CaseState;

function stage() {
  let answered: (a: SyncAnswer) => void = () => undefined;
  let decided: (v: Verdict) => void = () => undefined;
  const cases = signal<CaseState[]>([]);
  const waiting = signal<Held | null>(null);
  const lockView = signal<LockView>({ state: "open" });
  const append = vi.fn(async () => ({ id: "x", seq: 1, at: 0 }));
  const request = vi.fn(async () => new Response(new Uint8Array([1, 2])));
  const log = {
    device: signal({ id: "me" }),
    cases,
    lockView,
    append,
    request,
    onAnswer: (listener: typeof answered) => {
      answered = listener;
      return () => undefined;
    },
  } as unknown as Log;
  const changeOver = vi.fn(async () => undefined);
  const offer = vi.fn(
    async (_sha: string, fetchBytes: () => Promise<Uint8Array>) => void (await fetchBytes()),
  );
  const shelf = {
    current: signal(null),
    waiting,
    changeOver,
    offer,
    recalls: vi.fn(async () => undefined),
    onVerdict: (listener: typeof decided) => {
      decided = listener;
      return () => undefined;
    },
  } as unknown as Shelf;
  const stop = wire(log, shelf);
  return {
    lockView,
    cases,
    waiting,
    append,
    request,
    changeOver,
    offer,
    stop,
    answer: (a: Partial<SyncAnswer>) => answered(a as SyncAnswer),
    decide: (v: Verdict) => decided(v),
  };
}

describe("wiring of log and shelf", () => {
  it("a waiting pack takes over only when no case is in hand here", () => {
    const s = stage();
    s.cases.value = [open()];
    s.waiting.value = { sha256: "new" } as Held;
    expect(s.changeOver).not.toHaveBeenCalled();
    s.cases.value = [open({ state: "closed" }), open({ heldBy: "other" }), open({ handedTo: "nurse" })];
    expect(s.changeOver).toHaveBeenCalledTimes(1);
    s.stop();
  });

  it("on a locked phone none takes over: a case may be in hand that nobody can read", () => {
    const s = stage();
    s.cases.value = [open()];
    s.waiting.value = { sha256: "new" } as Held;
    s.lockView.value = { state: "locked" };
    s.cases.value = [];
    expect(s.changeOver).not.toHaveBeenCalled();
    s.lockView.value = { state: "unlocked", name: "AB" };
    expect(s.changeOver).toHaveBeenCalledTimes(1);
    s.stop();
  });

  it("offers the site's pack after an answer, and says when it cannot be fetched", async () => {
    const s = stage();
    s.answer({ pack: "abc", recalls: [] });
    await vi.waitFor(() => expect(s.request).toHaveBeenCalledWith("/api/packs/abc"));
    s.request.mockResolvedValueOnce(new Response(null, { status: 500 }));
    s.answer({ pack: "abc", recalls: [] });
    await vi.waitFor(() => expect(packTrouble.value).toContain("500"));
    s.stop();
  });

  it("logs what became of a pack", () => {
    const s = stage();
    s.decide({ taken: false, sha256: "bad", faults: ["vector 3 differs"] });
    expect(s.append).toHaveBeenCalledWith(
      "pack.refused",
      { sha256: "bad", faults: ["vector 3 differs"] },
      expect.objectContaining({ case: null }),
    );
    s.stop();
  });

  it("counts as in hand only what is open, held here and not handed over", () => {
    expect(casesInHand([open(), open({ handedTo: "nurse" }), open({ heldBy: "other" })], "me")).toHaveLength(
      1,
    );
  });
});
