import { expect, it } from "vitest";
import { APP_VERSION } from "./version";

it("is the package's", () => {
  const found = import.meta.glob("../../../backend/chinrest/__init__.py", {
    query: "?raw",
    import: "default",
    eager: true,
  });
  expect(Object.values(found).join()).toContain(`__version__ = "${APP_VERSION}"`);
});
