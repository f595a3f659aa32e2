import { expect, test } from "vitest";
import type { Field } from "../../types.gen";
import { gazeChoices } from "./gazes";

const field = (id: string, gaze_deg: [number, number]) => ({ id, name: id, gaze_deg }) as unknown as Field;

test("each gaze once, straight first, in the patient's own left and right", () => {
  const fields = [field("nasal", [20, 0]), field("late", [20, 0]), field("up", [0, 15])];
  expect(gazeChoices(fields, "right").map((g) => g.text)).toEqual([
    "Straight",
    "20° to the patient's left",
    "15° up",
  ]);
  expect(gazeChoices(fields, "left")[1]?.text).toBe("20° to the patient's right");
});
