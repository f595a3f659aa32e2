import { describe, expect, it } from "vitest";
import { DARK_ROOM, readLook } from "./look";

describe("readLook", () => {
  it("starts in the dark room", () => expect(readLook(null, DARK_ROOM).theme).toBe("dark"));
  it("keeps what makes sense and falls back for the rest", () => {
    expect(readLook('{"theme":"day","text":"huge","hand":"left"}', DARK_ROOM)).toEqual({
      theme: "day",
      text: "normal",
      hand: "left",
    });
  });
  it("survives damage", () => {
    expect(readLook("{", DARK_ROOM)).toEqual(DARK_ROOM);
    expect(readLook("null", DARK_ROOM)).toEqual(DARK_ROOM);
  });
});
