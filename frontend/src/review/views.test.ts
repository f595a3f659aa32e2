import { describe, expect, it } from "vitest";
import { tidyQuery, viewsFrom, withView } from "./views";

describe("kept views", () => {
  it("come back by name and without a page", () => {
    const views = withView([], " Late ones ", "page=3&overdue=1&site=north");
    expect(views).toEqual([{ name: "Late ones", query: "site=north&overdue=1" }]);
    expect(viewsFrom(JSON.stringify(views))).toEqual(views);
  });

  it("give a name that is there already to the new filters", () => {
    const views = withView(withView([], "Mine", "review=new"), "Mine", "review=closed");
    expect(views).toEqual([{ name: "Mine", query: "review=closed" }]);
  });

  it("are not made without a name", () => expect(withView([], "  ", "review=new")).toEqual([]));

  it.each([null, "", "{", "[1, {}]", '{"name":"x"}', '[{"name":"x"}]'])(
    "survive what is not theirs: %s",
    (text) => {
      expect(viewsFrom(text)).toEqual([]);
    },
  );

  it("drop from a query what no filter knows", () => {
    expect(tidyQuery("site=a&odd=1&review=never&since=last-week")).toBe("site=a");
  });
});
