import { describe, expect, it } from "vitest";
import { contactsFor, dialled } from "./EmergencyBody";

const contact = (site: string, phone: string) => ({ site, phone, name: phone, note: "" });

describe("the emergency page", () => {
  it("dials digits and a leading plus only", () => {
    expect(dialled("555-0100")).toBe("5550100");
    expect(dialled("+44 20 7946 0000")).toBe("+442079460000");
    expect(dialled("(555) 01 00")).toBe("5550100");
  });
  it("shows this site's numbers first, then everyone's, never another site's", () => {
    const all = [contact("", "1"), contact("hill", "2"), contact("harbour", "3")];
    expect(contactsFor(all, "harbour").map((c) => c.phone)).toEqual(["3", "1"]);
    expect(contactsFor(all, null).map((c) => c.phone)).toEqual(["1"]);
  });
});
