import { describe, expect, test } from "vitest";
import {
  chinSentence,
  distanceSentence,
  eyeTurnWords,
  gapWords,
  gazeSentence,
  lightSentence,
  millimetres,
  turnDirection,
  turnSentence,
} from "./words";

// Worked examples of the sign conventions: yaw positive turns the face toward the fellow eye's side, so the imaged
// eye turns toward its temple; gaze is nasal positive; chin up is positive.
describe("the patient's own left and right", () => {
  test("right eye, yaw 14: to the patient's left, the eye 14° toward the temple", () => {
    expect(turnSentence("right", 14)).toBe("Turn the face 14° to the patient's left");
    expect(eyeTurnWords([-14, 0])).toBe("14° toward the temple in the head");
  });
  test("left eye, yaw 14: mirrored in words only", () => {
    expect(turnSentence("left", 14)).toBe("Turn the face 14° to the patient's right");
    expect(turnSentence("left", -6.4)).toBe("Turn the face 6° to the patient's left");
  });
  test("the nose of the right eye lies to the patient's left", () => {
    expect(gazeSentence("right", [20, 10])).toBe(
      "The eye looks 20° to the patient's left and 10° up of the optic",
    );
    expect(gazeSentence("left", [20, -10])).toBe(
      "The eye looks 20° to the patient's right and 10° down of the optic",
    );
    expect(gazeSentence("left", [0, 0])).toBe("The eye looks straight into the optic");
  });
  test("beside the number, advised or only asked", () => {
    expect(turnDirection("right", 14)).toBe("Turn the face to the patient's left");
    expect(turnDirection("right", -3, true)).toBe("What if turned to the patient's right");
    expect(turnDirection("left", 0.2)).toBe("No turn: face straight ahead");
  });
  test("less than half a degree is no turn", () => {
    expect(turnSentence("right", 0.4)).toBe("Keep the face straight ahead");
    expect(turnSentence("right", -0.4)).toBe("Keep the face straight ahead");
  });
});

test("chin, distance and light", () => {
  expect(chinSentence(4.6)).toBe("Chin up 5°");
  expect(chinSentence(-3)).toBe("Chin down 3°");
  expect(chinSentence(0.2)).toBe("Chin level");
  expect(distanceSentence(12, 12)).toBe("12.0 mm from cornea to front rim");
  expect(distanceSentence(14.5, 12)).toBe(
    "14.5 mm from cornea to front rim, 2.5 mm further back than nominal",
  );
  expect(lightSentence([-25.2, 9.8], 100)).toBe(
    "Light 25 cm to the patient's left and 10 cm up, 100 cm away",
  );
  expect(lightSentence([0.2, 0], 60)).toBe("Light straight before the fellow eye, 60 cm away");
  expect(gapWords(4)).toBe("4.0 mm");
  expect(gapWords(-0.3)).toBe("touches");
  expect(millimetres(-1.25)).toBe("−1.2 mm");
});
