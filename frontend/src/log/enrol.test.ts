import { afterEach, describe, expect, it, vi } from "vitest";
import { tidyCode } from "./code";
import { readLine } from "./line";
import { FakeServer } from "./testing/fakeServer";
import { enrolledPhone, Phone } from "./testing/phone";

const openPhones: Phone[] = [];
afterEach(async () => {
  vi.restoreAllMocks();
  for (const phone of openPhones.splice(0)) await phone.closeAll();
});

describe("enrolment", () => {
  it("makes the chain's first line and keeps a key that can't be read out", async () => {
    const { server, phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    const device = tab.log.device.value;
    expect(device).toMatchObject({
      label: "Room 2",
      site: "north",
      siteName: "North",
      demo: true,
      serverKey: expect.stringMatching(/^MFkw/),
    });
    expect(device).not.toHaveProperty("token");
    await phone.pass(5_000);
    const [first] = server.lines(device?.id ?? "");
    const line = readLine(first?.raw ?? "");
    expect(line?.envelope).toMatchObject({ seq: 1, type: "device.enrolled", prev: "0".repeat(64) });
    expect(line?.body?.public_key).toBe(server.keys.get(device?.id ?? ""));
  });

  it("signs each batch's head with that key", async () => {
    const { server, phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    await phone.pass(5_000);
    const header = server.requests.find((request) => request.head_seq > 0);
    const spki = Uint8Array.from(atob(server.keys.get(tab.log.device.value?.id ?? "") ?? ""), (c) =>
      c.charCodeAt(0),
    );
    const key = await crypto.subtle.importKey("spki", spki, { name: "ECDSA", namedCurve: "P-256" }, true, [
      "verify",
    ]);
    const ok = await crypto.subtle.verify(
      { name: "ECDSA", hash: "SHA-256" },
      key,
      Uint8Array.from(atob(header?.signature ?? ""), (c) => c.charCodeAt(0)),
      new TextEncoder().encode(header?.head_sha256),
    );
    expect(ok).toBe(true);
  });

  it("is the same device again when the answer was lost", async () => {
    const server = new FakeServer();
    const phone = new Phone(server);
    openPhones.push(phone);
    const tab = await phone.tab();
    server.reachable = false;
    expect(await tab.log.enrol("ABCD-2345", "Room 2")).toMatchObject({
      ok: false,
      fault: { code: "no_answer" },
    });
    server.reachable = true;
    const real = server.fetch;
    vi.spyOn(server, "fetch").mockImplementationOnce(async (path, init) => {
      await real(path, init);
      throw new TypeError("connection reset");
    });
    expect(await tab.log.enrol("ABCD-2345", "Room 2")).toMatchObject({ ok: false });
    expect(await tab.log.enrol("ABCD-2345", "Room 2")).toEqual({ ok: true });
    expect(new Set(server.tokens.values()).size).toBe(1);
  });

  it.each(["north", "south"])(
    "asks from the beginning only where it moved to another site: %s",
    async (site) => {
      const { server, phone, tab } = await enrolledPhone();
      openPhones.push(phone);
      await phone.pass(5_000);
      await tab.log.append("case.taken", { seen: 0 }, { case: "c" });
      await phone.pass(5_000);
      const cursor = server.requests.at(-1)?.cursor;
      expect(cursor).not.toBeNull();
      const real = server.fetch;
      vi.spyOn(server, "fetch").mockImplementationOnce(async (path, init) => {
        const answer = await real(path, init);
        return new Response(JSON.stringify({ ...(await answer.json()), site }), { status: answer.status });
      });
      expect(await tab.log.enrol("ABCD-2345", "Room 2")).toEqual({ ok: true });
      expect(tab.log.device.value?.site).toBe(site);
      const before = server.requests.length;
      await tab.log.append("case.taken", { seen: 0 }, { case: "c" });
      await phone.pass(5_000);
      const asked = server.requests.slice(before).map((request) => request.cursor);
      expect(asked.length).toBeGreaterThan(0);
      expect(asked[0] === null).toBe(site === "south");
      // and goes on from there
      await tab.log.append("case.taken", { seen: 0 }, { case: "c" });
      await phone.pass(5_000);
      expect(server.requests.at(-1)?.cursor).not.toBeNull();
    },
  );

  it("says why a code isn't taken", async () => {
    const phone = new Phone(new FakeServer());
    openPhones.push(phone);
    const tab = await phone.tab();
    expect(await tab.log.enrol("ZZZZ-ZZZZ", "x")).toEqual({
      ok: false,
      fault: { code: "code_unknown", where: "code", why: "no such code" },
    });
    expect(tab.log.device.value).toBeNull();
    await expect(tab.log.append("case.taken", { seen: 0 }, { case: "c" })).rejects.toMatchObject({
      code: "not_enrolled",
    });
  });
});

it("reads a code as people type it", () => {
  for (const typed of ["abcd-2345", "ABCD2345", " abcd 2345 ", "ABCD–2345"]) {
    expect(tidyCode(typed)).toBe("ABCD-2345");
  }
  // letters that Crockford's base32 leaves out, since they are read as digits
  expect(tidyCode("OIL0-1ABC")).toBe("0110-1ABC");
});
