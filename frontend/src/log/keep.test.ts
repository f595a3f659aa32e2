import { describe, expect, it } from "vitest";
import { askToKeep, mayGo, room } from "./keep";
import { NO_MEMORY } from "./sync/memory";

describe("asking the browser to keep the store", () => {
  it("gives its answer, and an answer of our own when none comes", async () => {
    expect(await askToKeep(undefined)).toBe("absent");
    expect(await askToKeep({})).toBe("absent");
    expect(await askToKeep({ persist: async () => true })).toBe("granted");
    expect(await askToKeep({ persist: async () => false, persisted: async () => false })).toBe("refused");
    expect(await askToKeep({ persist: async () => false, persisted: async () => true })).toBe("granted");
    expect(await askToKeep({ persist: () => new Promise(() => undefined) }, 20)).toBe("no_answer");
  });

  it("says how much room there is, if told", async () => {
    expect(await room(undefined)).toEqual({ usage: null, quota: null });
    expect(await room({ estimate: async () => ({ usage: 1, quota: 2 }) })).toEqual({ usage: 1, quota: 2 });
    expect(await room({ estimate: () => new Promise(() => undefined) }, 20)).toEqual({
      usage: null,
      quota: null,
    });
  });
});

describe("what may be cleared", () => {
  const DAY = 86_400_000;
  const old = {
    state: "closed" as const,
    closedAt: 0,
    lastAt: 0,
    lines: [
      { device: "me", seq: 1 },
      { device: "me", seq: 2 },
    ],
  };
  const memory = {
    ...NO_MEMORY,
    held: [[1, 2]] as [number, number][],
    final: [[1, 2]] as [number, number][],
    backup: { epoch: "e", seq: 2, head_sha256: "h", at: 8 * DAY, stands: true },
    serverNow: 9 * DAY,
  };

  it("is a closed case, old by both clocks, of which a final server named and backed up every own line", () => {
    expect(mayGo(old, "me", memory, 9 * DAY, 7)).toBe(true);
    expect(mayGo({ ...old, state: "open" }, "me", memory, 9 * DAY, 7)).toBe(false);
    expect(mayGo(old, "me", { ...memory, final: [[1, 1]] }, 9 * DAY, 7)).toBe(false);
    expect(mayGo(old, "me", memory, 6 * DAY, 7)).toBe(false);
    expect(mayGo(old, "me", { ...memory, serverNow: 6 * DAY }, 9 * DAY, 7)).toBe(false);
    expect(mayGo(old, "me", { ...memory, serverNow: null }, 9 * DAY, 7)).toBe(false);
    expect(mayGo({ ...old, lastAt: 8 * DAY }, "me", memory, 9 * DAY, 7)).toBe(false);
    expect(mayGo(old, "me", memory, 9 * DAY, Number.NaN)).toBe(false);
    // nor without the server's word that its last backup holds each of them
    expect(mayGo(old, "me", { ...memory, backup: null }, 9 * DAY, 7)).toBe(false);
    expect(mayGo(old, "me", { ...memory, backup: { ...memory.backup, seq: 1 } }, 9 * DAY, 7)).toBe(false);
    expect(mayGo(old, "me", { ...memory, backup: { ...memory.backup, stands: false } }, 9 * DAY, 7)).toBe(
      false,
    );
    expect(mayGo({ ...old, lines: [{ device: "other", seq: 5 }] }, "me", memory, 9 * DAY, 7)).toBe(true);
  });
});
