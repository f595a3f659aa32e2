import { describe, expect, it } from "vitest";
import { readingsOf, type Stretch, withReading } from "./readings";

const at = (seconds: number, mono_s: number, boot = "a") => ({
  at: 1_790_000_000_000 + seconds * 1000,
  mono: mono_s * 1000,
  boot,
});
const told = (...readings: ReturnType<typeof at>[]): Stretch[] =>
  readings.reduce<Stretch[]>((kept, one) => withReading(kept, one), []);

describe("readings of both clocks", () => {
  it("keeps the ends of a stretch in which both run alike", () => {
    const kept = told(...Array.from({ length: 900 }, (_, i) => at(i, i)));
    expect(readingsOf(kept)).toEqual([at(0, 0), at(899, 899)]);
  });

  it("keeps the moment at which the time of day was set", () => {
    const kept = told(at(0, 0), at(1, 1), at(3602, 2), at(3603, 3));
    expect(readingsOf(kept)).toEqual([at(0, 0), at(1, 1), at(3602, 2), at(3603, 3)]);
  });

  it("keeps the start of a new count", () => {
    expect(readingsOf(told(at(0, 50), at(9, 59), at(12, 0, "b"), at(13, 1, "b")))).toHaveLength(4);
  });

  it("does not let a slow drift hide in small parts", () => {
    const kept = told(...Array.from({ length: 100 }, (_, i) => at(i * 1.1, i)));
    expect(readingsOf(kept).length).toBeGreaterThan(10);
  });

  it("stays small however often the app is started anew", () => {
    expect(told(...Array.from({ length: 500 }, (_, i) => at(i, 0, `boot ${i}`)))).toHaveLength(64);
  });
});
