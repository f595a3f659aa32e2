import { expect, test } from "vitest";
import { nasalSide, patientSide } from "./sides";

test("the nose of the right eye lies to the patient's left, and a positive yaw turns that way", () => {
  expect(nasalSide("right")).toBe("left");
  expect(patientSide("right", 14)).toBe("left");
  expect(patientSide("right", -14)).toBe("right");
});
test("a left eye is the mirror", () => {
  expect(nasalSide("left")).toBe("right");
  expect(patientSide("left", 14)).toBe("right");
  expect(patientSide("left", -14)).toBe("left");
});
