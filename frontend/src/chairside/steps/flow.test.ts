import { describe, expect, test } from "vitest";
import { firstOpen, mustsBefore, nextOpen, progress, shown, stepBefore } from "./flow";

const step = (id: string, stage: string, weight: "must" | "should" | "note") => ({
  key: `${id}||`,
  step: { id, stage, weight, text: id },
});
const plan = [
  step("identify", "before", "must"),
  step("tell", "before", "should"),
  step("latch", "optic", "must"),
  step("wipe", "after", "note"),
];
const marks = (...keys: string[]) => new Map(keys.map((k) => [`${k}||`, { state: "done" as const }]));

describe("where a case stands", () => {
  test("nothing done: the first; all passed: none", () => {
    expect(firstOpen(plan, marks())?.step.id).toBe("identify");
    expect(firstOpen(plan, marks("identify", "tell", "latch", "wipe"))).toBeNull();
  });
  test("a step passed with a reason counts as passed", () => {
    expect(firstOpen(plan, new Map([["identify||", { state: "skipped" as const }]]))?.step.id).toBe("tell");
  });
  test("the step asked for is shown while the plan holds it, else the first open one", () => {
    expect(shown(plan, marks(), "wipe||")?.step.id).toBe("wipe");
    expect(shown(plan, marks("identify"), "gone||")?.step.id).toBe("tell");
  });
  test("next is the first open one after, then what was left behind", () => {
    expect(nextOpen(plan, marks("tell"), "identify||")?.step.id).toBe("latch");
    expect(nextOpen(plan, marks("latch"), "wipe||")?.step.id).toBe("identify");
    expect(nextOpen(plan, marks("identify", "tell", "latch"), "wipe||")).toBeNull();
    expect(stepBefore(plan, "tell||")?.step.id).toBe("identify");
    expect(stepBefore(plan, "identify||")).toBeNull();
  });
  test("a must stands in the way, a should does not", () => {
    expect(mustsBefore(plan, marks(), "latch||").map((p) => p.step.id)).toEqual(["identify"]);
    expect(mustsBefore(plan, marks("identify"), "wipe||").map((p) => p.step.id)).toEqual(["latch"]);
  });
  test("progress by stage leaves empty stages out", () => {
    const stages = [
      { id: "before", name: "Before" },
      { id: "dye", name: "Dye" },
      { id: "optic", name: "Optic" },
      { id: "after", name: "After" },
    ];
    expect(progress(plan, marks("identify"), stages)).toEqual([
      { id: "before", name: "Before", total: 2, passed: 1, mustLeft: 0 },
      { id: "optic", name: "Optic", total: 1, passed: 0, mustLeft: 1 },
      { id: "after", name: "After", total: 1, passed: 0, mustLeft: 0 },
    ]);
  });
});
