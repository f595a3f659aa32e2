import { describe, expect, it } from "vitest";
import type { Line } from "./line";
import { inOrder } from "./order";

const line = (device: string, seq: number, at: number, after?: number): Line =>
  ({
    envelope: { id: `${device}${seq}`, device, seq, at, ...(after === undefined ? {} : { after }) },
  }) as Line;
const order = (...lines: Line[]) => inOrder(lines).map((one) => one.envelope.id);

describe("the order of lines", () => {
  it("a slow clock comes after what it had read, and what its phone writes next too", () => {
    const first = [line("a", 1, 1000), line("a", 2, 2000)];
    const slow = [line("b", 1, 10), line("b", 2, 20, 2000), line("b", 3, 30)];
    expect(order(...slow, ...first)).toEqual(["b1", "a1", "a2", "b2", "b3"]);
  });

  it("a clock that is not behind is taken at its word", () => {
    expect(order(line("a", 1, 1000), line("b", 1, 5000, 1000))).toEqual(["a1", "b1"]);
  });
});
