import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { begun, MOST, mayTry, NO_TRIES, onThisClock, type Tries, waitMs } from "./tries";

const NOW = 1_790_000_000_000;

/** As many wrong tries as a person can make in a row, each as soon as it may. */
function guess(count: number, from = NOW): { tries: Tries; now: number } {
  let [tries, now] = [NO_TRIES, from];
  for (let n = 0; n < count; n++) {
    const may = mayTry(tries, now);
    if (may.may === "server") break;
    if (may.may === "wait") now += may.ms;
    tries = begun(tries, now);
  }
  return { tries, now };
}

describe("wrong tries", () => {
  it("the first are free, then each waits longer, then only the server helps", () => {
    expect(Array.from({ length: MOST }, (_, n) => waitMs(n) / 1000)).toEqual([
      0, 0, 0, 30, 60, 120, 240, 480, 900, 900,
    ]);
    expect(mayTry(guess(2).tries, NOW)).toEqual({ may: "try" });
    expect(mayTry(guess(3).tries, NOW)).toEqual({ may: "wait", ms: 30_000 });
    expect(mayTry(guess(MOST).tries, NOW + 365 * 86_400_000)).toEqual({ may: "server" });
  });

  it("ten of them take more than three quarters of an hour, and there is no eleventh", () => {
    const { tries, now } = guess(50);
    expect(tries.wrong).toBe(MOST);
    expect(now - NOW).toBe((30 + 60 + 120 + 240 + 480 + 900 + 900) * 1000);
  });

  it("a wait is over when it is over", () => {
    const { tries, now } = guess(4);
    expect(mayTry(tries, now + 59_999)).toEqual({ may: "wait", ms: 1 });
    expect(mayTry(tries, now + 60_000)).toEqual({ may: "try" });
  });
});

describe("a clock that is changed", () => {
  it("set back makes nobody wait longer than the wait is", () => {
    const { tries, now } = guess(5);
    const before = now - 10 * 86_400_000;
    expect(mayTry(tries, before)).toEqual({ may: "wait", ms: waitMs(5) });
    const kept = onThisClock(tries, before);
    expect(mayTry(kept, before + waitMs(5))).toEqual({ may: "try" });
  });

  it("however it jumps, no more than so many tries are made", () => {
    const jumps = fc.array(fc.integer({ min: -1e10, max: 1e10 }), { minLength: 30, maxLength: 60 });
    fc.assert(
      fc.property(jumps, (all) => {
        let [tries, now, made] = [NO_TRIES, NOW, 0];
        for (const jump of all) {
          now = Math.max(1, now + jump);
          tries = onThisClock(tries, now);
          const may = mayTry(tries, now);
          if (may.may === "wait") {
            expect(may.ms).toBeLessThanOrEqual(waitMs(tries.wrong));
            expect(may.ms).toBeGreaterThan(0);
          }
          if (may.may !== "try") continue;
          tries = begun(tries, now);
          made += 1;
        }
        expect(made).toBeLessThanOrEqual(MOST);
      }),
    );
  });
});
