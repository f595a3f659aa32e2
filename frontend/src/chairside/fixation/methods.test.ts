import { expect, test } from "vitest";
import { offers } from "./methods";

const sees = { imaged_sees: true, fellow_sees: true, squint: false, drifts: false };
const near = { inside_light: true, inside_light_deg: 15, light_refused: null };
const far = { inside_light: false, inside_light_deg: 15, light_refused: null };
const possible = (list: ReturnType<typeof offers>) =>
  list.filter((o) => o.why_not === null).map((o) => o.method);

test("both eyes see: every way within range", () => {
  expect(possible(offers(sees, near))).toEqual(["inside", "outside", "spoken"]);
  expect(possible(offers(sees, far))).toEqual(["outside", "spoken"]);
});
test("a blind fellow eye leaves the inside light or speech", () => {
  expect(possible(offers({ ...sees, fellow_sees: false }, near))).toEqual(["inside", "spoken"]);
  expect(possible(offers({ ...sees, fellow_sees: false }, far))).toEqual(["spoken"]);
});
test("a blind imaged eye leaves the outside light or speech; a hidden light leaves speech", () => {
  expect(possible(offers({ ...sees, imaged_sees: false }, near))).toEqual(["outside", "spoken"]);
  const hidden = {
    ...far,
    light_refused: { code: "hidden_by_nose" as const, sentence: "The nose hides it." },
  };
  const list = offers(sees, hidden);
  expect(possible(list)).toEqual(["spoken"]);
  expect(list[1]?.why_not).toBe("The nose hides it.");
});
