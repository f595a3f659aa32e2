import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { hearing, listen, newsOf, waitBefore } from "./live";

/** As much of the browser's EventSource as is used. */
class Source extends EventTarget {
  closed = false;
  close() {
    this.closed = true;
  }
  say(event: string, data: unknown = {}) {
    this.dispatchEvent(Object.assign(new Event(event), { data: JSON.stringify(data) }));
  }
}

const opened: Source[] = [];
const last = (): Source => opened[opened.length - 1] as Source;
const lost = vi.fn();
let stop: () => void;

beforeEach(() => {
  vi.useFakeTimers();
  opened.length = 0;
  lost.mockClear();
  stop = listen({
    open: () => {
      opened.push(new Source());
      return last() as unknown as EventSource;
    },
    chance: () => 1,
    lost,
  });
});
afterEach(() => {
  stop();
  vi.useRealTimers();
});

describe("listening", () => {
  it("says that it hears only once the server has spoken", () => {
    expect(hearing.value).toBe("off");
    last().say("beat");
    expect(hearing.value).toBe("on");
  });

  it("says that it is cut, and tries again ever more seldom, each try once", () => {
    last().say("beat");
    for (const wait of [1_000, 2_000, 4_000, 8_000, 16_000, 32_000, 60_000, 60_000]) {
      const tried = opened.length;
      last().say("error");
      expect(hearing.value).toBe("cut");
      expect(last().closed).toBe(true);
      vi.advanceTimersByTime(wait - 1);
      expect(opened.length).toBe(tried);
      vi.advanceTimersByTime(1);
      expect(opened.length).toBe(tried + 1);
    }
    last().say("beat");
    expect(hearing.value).toBe("on");
    last().say("error");
    vi.advanceTimersByTime(1_000); // from the beginning again
    expect(opened.length).toBe(10);
    expect(lost).toHaveBeenCalledTimes(9); // once for each stream that was lost
  });

  it("takes a silent server for a cut one, before and after it has spoken", () => {
    vi.advanceTimersByTime(40_000);
    expect(hearing.value).toBe("cut");
    vi.advanceTimersByTime(1_000);
    last().say("beat");
    vi.advanceTimersByTime(39_000);
    last().say("changed", { kinds: ["lines"] });
    vi.advanceTimersByTime(39_000);
    expect(hearing.value).toBe("on");
    vi.advanceTimersByTime(1_000);
    expect(hearing.value).toBe("cut");
  });

  it("is not disturbed by a kind of a newer server", () => {
    last().say("changed", { kinds: ["weather", "lines"] });
    expect(hearing.value).toBe("on");
  });

  it("tells no reader of news when it begins to listen, but when it hears again", () => {
    const told: number[] = [];
    const look = () => told.push(newsOf("lines"));
    look();
    last().say("beat");
    look();
    last().say("changed", { kinds: ["lines", "devices"] });
    look();
    last().say("error");
    vi.advanceTimersByTime(1_000);
    last().say("beat");
    look();
    const [first = 0] = told;
    expect(told).toEqual([first, first, first + 1, first + 2]);
  });

  it("leaves nothing behind", () => {
    last().say("beat");
    stop();
    expect([hearing.value, last().closed, vi.getTimerCount()]).toEqual(["off", true, 0]);
  });
});

describe("the wait before another try", () => {
  it("is never shorter than half of its longest, so that no desk hammers", () => {
    for (const tries of [0, 3, 10, 1000]) {
      const most = waitBefore(tries, 1);
      expect(waitBefore(tries, 0)).toBe(most / 2);
      expect(most).toBeLessThanOrEqual(60_000);
    }
  });
});
