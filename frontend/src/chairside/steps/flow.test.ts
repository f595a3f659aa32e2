import { describe, expect, test } from "vitest";
import { firstOfOptic, firstOpen, mustsBefore, nextOpen, progress, shown, stepBefore } from "./flow";

const step = (id: string, stage: string, weight: "must" | "should" | "note") => ({
  key: `${id}||`,
  optic: null,
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
    expect(firstOpen(plan, marks(), null)?.step.id).toBe("identify");
    expect(firstOpen(plan, marks("identify", "tell", "latch", "wipe"), null)).toBeNull();
  });
  test("a step passed with a reason counts as passed", () => {
    expect(firstOpen(plan, new Map([["identify||", { state: "skipped" as const }]]), null)?.step.id).toBe(
      "tell",
    );
  });
  test("the step asked for is shown while the plan holds it, else the first open one", () => {
    expect(shown(plan, marks(), "wipe||", null)?.step.id).toBe("wipe");
    expect(shown(plan, marks("identify"), "gone||", null)?.step.id).toBe("tell");
  });
  test("next is the first open one after, then what was left behind", () => {
    expect(nextOpen(plan, marks("tell"), "identify||", null)?.step.id).toBe("latch");
    expect(nextOpen(plan, marks("latch"), "wipe||", null)?.step.id).toBe("identify");
    expect(nextOpen(plan, marks("identify", "tell", "latch"), "wipe||", null)).toBeNull();
    expect(stepBefore(plan, "tell||")?.step.id).toBe("identify");
    expect(stepBefore(plan, "identify||")).toBeNull();
  });
  test("a must stands in the way, a should does not", () => {
    expect(mustsBefore(plan, marks(), "latch||", null).map((p) => p.step.id)).toEqual(["identify"]);
    expect(mustsBefore(plan, marks("identify"), "wipe||", null).map((p) => p.step.id)).toEqual(["latch"]);
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

describe("an optic that was taken off in the middle", () => {
  const round = (id: string, optic: string) => ({
    ...step(id, "optic", "must"),
    key: `${id}||${optic}`,
    optic,
  });
  const changed = [
    step("identify", "before", "must"),
    round("latch", "wide"),
    round("even_light", "wide"),
    round("save_first", "ultra"),
    round("latch", "ultra"),
    step("wipe", "after", "must"),
  ];
  const done = (...keys: string[]) => new Map(keys.map((k) => [k, { state: "done" as const }]));
  const so = done("identify||", "latch||wide");
  test("its open steps neither come first nor stand in the way of the one in use", () => {
    expect(firstOpen(changed, so, "ultra")?.key).toBe("save_first||ultra");
    expect(nextOpen(changed, so, "identify||", "ultra")?.key).toBe("save_first||ultra");
    expect(mustsBefore(changed, so, "save_first||ultra", "ultra")).toEqual([]);
    expect(mustsBefore(changed, so, "latch||ultra", "ultra").map((p) => p.key)).toEqual([
      "save_first||ultra",
    ]);
  });
  test("they stay open, and come when nothing else is left", () => {
    const rest = done("identify||", "latch||wide", "save_first||ultra", "latch||ultra", "wipe||");
    expect(firstOpen(changed, rest, "ultra")?.key).toBe("even_light||wide");
    expect(mustsBefore(changed, so, "even_light||wide", "ultra")).toEqual([]);
  });
  test("a change begins with the first open step of the optic that comes on", () => {
    expect(firstOfOptic(changed, so, "ultra")?.key).toBe("save_first||ultra");
    expect(firstOfOptic(changed, so, "narrow")).toBeNull();
  });
});
