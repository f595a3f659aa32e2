import { describe, expect, it } from "vitest";
import { backupWords } from "./lastBackup";

const NOW = Date.UTC(2026, 10, 29, 12);
const at = (days: number) => NOW - days * 86_400_000;

describe("what the desk says of the last backup", () => {
  it("says nothing where it is young, or is another server's to make", () => {
    expect(backupWords({ state: "fine", last_at: at(3), limit_days: 7 }, NOW)).toBeNull();
    expect(backupWords({ state: "fine", last_at: null, limit_days: 7 }, NOW)).toBeNull();
    expect(backupWords({ state: "elsewhere", last_at: null, limit_days: 7 }, NOW)).toBeNull();
  });

  it("says how old it is, that phones keep their lines, and what to do", () => {
    const words = backupWords({ state: "old", last_at: at(9), limit_days: 7 }, NOW);
    expect(words?.title).toBe("The last backup was made 9 days ago");
    expect(words?.what).toContain("on 20 Nov 2026, and more than 7 days ago");
    expect(words?.what).toContain("Phones keep their lines until a backup holds them");
    expect(words?.what).toContain("chinrest backup");
  });

  it("says so where there was never one", () => {
    const words = backupWords({ state: "never", last_at: null, limit_days: 1 }, NOW);
    expect(words?.title).toBe("No backup holds what phones have sent");
    expect(words?.what).toContain("Phones keep their lines");
  });
});
