import { expect, it } from "vitest";
import { newPasswordFault, newPasswordReady, shortFault } from "./passwords";

it("a new password is typed twice, and long enough", () => {
  expect(newPasswordReady("ten signs.", "ten signs.")).toBe(true);
  expect(newPasswordReady("nine sign", "nine sign")).toBe(false);
  expect(newPasswordReady("ten signs.", "ten signs,")).toBe(false);
});

it("a typing that may still become right is no fault", () => {
  expect(newPasswordFault("ten signs.", "")).toBeUndefined();
  expect(newPasswordFault("ten signs.", "ten s")).toBeUndefined();
  expect(newPasswordFault("ten signs.", "ten x")).toBe("The two are not the same.");
  expect(newPasswordFault("ten signs.", "ten signs.,")).toBe("The two are not the same.");
});

it("that it is too short is said once it is typed again", () => {
  expect(shortFault("nine sign", "")).toBeUndefined();
  expect(shortFault("nine sign", "n")).toBe("This is too short.");
  expect(shortFault("ten signs.", "t")).toBeUndefined();
});
