import { describe, expect, it } from "vitest";
import type { Envelope } from "../types.gen";
import { sha256, uuid4, uuid7 } from "./bytes";
import { foldCase } from "./fold";
import {
  bodyText,
  envelopeText,
  FIRST_PREV,
  json,
  LINE_LIMIT_BYTES,
  type Line,
  NO_HEAD,
  nextLine,
  readLine,
} from "./line";
import { inOrder } from "./order";

const files = import.meta.glob("../../../fixtures/formats/line-v1/*", {
  query: "?raw",
  import: "default",
  eager: true,
});
const fixture = (name: string): string => {
  const found = Object.entries(files).find(([path]) => path.endsWith(name));
  if (!found) throw new Error(`no fixture ${name}`);
  return found[1] as string;
};
const rows = (name: string): string[] =>
  fixture(name)
    .split("\n")
    .filter((row) => row !== "");
const expected = JSON.parse(fixture("expected.json")) as {
  heads: Record<string, string>;
  order: string[];
  amended: Record<string, { by: string; withdrawn: boolean }>;
  case: { case: string; code: string; state: string; outcome: string; practice: boolean };
  incidents: {
    line: string;
    what: string;
    harm: string | null;
    amended: boolean;
    withdrawn: boolean;
    note: string;
  }[];
};
const linesOf = (...names: string[]): Line[] =>
  names
    .flatMap((name) => rows(name).map((row) => readLine(row)))
    .filter((line): line is Line => line !== null);

describe("the stored files of line format 1", () => {
  it.each(["device.ndjson", "second-device.ndjson"])(
    "%s: every hash holds and the chain has no break",
    async (name) => {
      let prev = FIRST_PREV;
      let device = "";
      for (const [i, row] of rows(name).entries()) {
        const line = readLine(row);
        expect(line?.envelope.seq).toBe(i + 1);
        expect(line?.envelope.prev).toBe(prev);
        expect(line?.envelope.body_sha256).toBe(await sha256(row.slice(row.indexOf("\t") + 1)));
        prev = await sha256(envelopeText(row));
        device = line?.envelope.device ?? "";
      }
      expect(prev).toBe(expected.heads[device]);
    },
  );

  it("fold to what every reader must find", () => {
    const all = linesOf("device.ndjson", "second-device.ndjson");
    const of = all.filter((line) => line.envelope.case === expected.case.case);
    expect(of.length).toBeGreaterThan(20);
    const inCase = new Set(of.map((line) => line.envelope.id));
    expect(inOrder(of).map((line) => line.envelope.id)).toEqual(
      expected.order.filter((id) => inCase.has(id)),
    );
    const state = foldCase([...of].reverse());
    expect(state).toMatchObject({
      id: expected.case.case,
      code: expected.case.code,
      state: expected.case.state,
      outcome: expected.case.outcome,
      practice: expected.case.practice,
    });
    const amended = Object.fromEntries(
      (state?.entries ?? [])
        .filter((entry) => entry.amendedBy !== null)
        .map(({ line, amendedBy, withdrawn }) => [line, { by: amendedBy, withdrawn }]),
    );
    expect(amended).toEqual(expected.amended);
    const rowsOf = (type: string): string[] =>
      of.filter((line) => line.envelope.type === type).map((line) => line.envelope.id);
    const incidents = expected.incidents.filter((row) => !row.withdrawn);
    const noted = incidents.filter((row) => rowsOf("safety.noted").includes(row.line));
    expect(state?.safety.map(({ line, body }) => [line, body.what, body.harm, body.note ?? ""])).toEqual(
      noted.map(({ line, what, harm, note }) => [line, what, harm, note]),
    );
    // the officer also counts a touch that was only said with the pose
    const touches = incidents.filter((row) => !noted.includes(row)).map((row) => row.line);
    expect(state?.found.filter(({ body }) => body.touched).map(({ line }) => line)).toEqual(touches);
    expect(state?.entries.some((entry) => !entry.known)).toBe(true);
  });
});

const stamp = {
  id: "i",
  at: 1,
  mono: 1,
  boot: "b",
  actor: null,
  case: null,
  practice: false,
  pack: null,
  type: "t",
};

describe("a new line", () => {
  it("has the envelope's fields and follows the head", async () => {
    const body = bodyText({ step: "a" });
    const first = await nextLine("d", NO_HEAD, stamp, body, await sha256(body));
    const second = await nextLine("d", first.head, stamp, body, await sha256(body));
    const read = readLine(second.raw);
    expect(read?.envelope).toEqual({
      ...stamp,
      device: "d",
      seq: 2,
      prev: await sha256(envelopeText(first.raw)),
      body_sha256: await sha256(body),
      v: 1,
    } satisfies Envelope);
    expect(read?.body).toMatchObject({ step: "a" });
    expect(atob(String(read?.body?.salt))).toHaveLength(16);
  });

  it("holds tabs, line breaks and half an emoji without breaking the row", async () => {
    const body = bodyText({ note: "a\tb\nc\r\u2028 \ud83d end" });
    const { raw } = await nextLine("d", NO_HEAD, stamp, body, await sha256(body));
    expect(raw.split("\t")).toHaveLength(2);
    expect(raw).not.toMatch(/[\n\r]/);
    expect(raw).not.toMatch(/\\ud83d/i);
    expect(readLine(raw)?.body?.note).toBe("a\tb\nc\r\u2028 \ufffd end");
  });

  it("may have 16 KiB and not a byte more", async () => {
    const base = (await nextLine("d", NO_HEAD, stamp, "{}", FIRST_PREV)).raw.length - 2;
    const body = (bytes: number): string => json({ n: "x".repeat(bytes - 8) });
    const most = await nextLine("d", NO_HEAD, stamp, body(LINE_LIMIT_BYTES - base), FIRST_PREV);
    expect(new TextEncoder().encode(most.raw)).toHaveLength(LINE_LIMIT_BYTES);
    await expect(
      nextLine("d", NO_HEAD, stamp, body(LINE_LIMIT_BYTES - base + 1), FIRST_PREV),
    ).rejects.toMatchObject({
      code: "too_large",
    });
  });

  it("refuses numbers that can't be written down", () => {
    expect(() => bodyText({ pd_mm: Number.POSITIVE_INFINITY })).toThrow(/pd_mm/);
  });
});

describe("reading", () => {
  it("says null of what can't be placed, and keeps an unreadable body as null", () => {
    for (const bad of ["", "x", "{}", "[]\t{}", '{"id":"a","device":"d","seq":0,"at":1,"type":"t"}\t{}']) {
      expect(readLine(bad)).toBeNull();
    }
    expect(readLine('{"id":"a","device":"d","seq":1,"at":1,"type":"t"}\tnot json')).toMatchObject({
      body: null,
    });
  });
});

describe("ids", () => {
  it("are UUIDs of version 7, in the order of their milliseconds (RFC 9562, section 5.7)", () => {
    const at = Date.UTC(2026, 10, 5);
    const made = [0, 1, 2, 1000].map((ms) => uuid7(at + ms));
    for (const id of made)
      expect(id).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
    expect([...made].sort()).toEqual(made);
    expect(Number.parseInt((made[0] ?? "").replace("-", "").slice(0, 12), 16)).toBe(at);
    // example in appendix A.6 of the RFC: 0x017F22E279B0 is 2022-02-22 19:22:22 UTC
    expect(uuid7(Date.UTC(2022, 1, 22, 19, 22, 22)).slice(0, 13)).toBe("017f22e2-79b0");
    expect(uuid4()).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab]/);
  });
});
