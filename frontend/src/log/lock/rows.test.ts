import { beforeAll, describe, expect, it } from "vitest";
import { base64, hex } from "../bytes";
import type { Row } from "../db";
import { type LockKeys, newKeys, type Opened } from "./keys";
import { type HiddenRow, keep, openRow, readyOut, readySeals, sealRow } from "./rows";

const DEVICE = "0b0f3a52-8d38-4c1e-9a77-1f1f2e3d4c5b";
const row = (seq: number, raw: string): Row => ({
  device: DEVICE,
  seq,
  id: `id${seq}`,
  case: "c1",
  form: "plain",
  raw,
});
const LINES = ['{"seq":1}\t{"salt":"x","note":"é 漢 \u{1f441} \u202e"}', "{}\t{}", "no line at all", ""];
const HASH = "ab".repeat(32);

let keys: LockKeys;
let opened: Opened;
let other: Opened;

beforeAll(async () => {
  const pair = await crypto.subtle.generateKey({ name: "ECDH", namedCurve: "P-256" }, true, ["deriveBits"]);
  const server = base64(new Uint8Array(await crypto.subtle.exportKey("spki", pair.publicKey)));
  ({ keys, opened } = await newKeys(DEVICE, server, "AB", "246813", 10));
  ({ opened: other } = await newKeys(DEVICE, server, "AB", "246813", 10));
});

async function sealed(line: Row): Promise<HiddenRow> {
  return sealRow(await readySeals(keys), line, HASH);
}

const FORMS: [string, (line: Row) => Promise<HiddenRow>][] = [
  ["kept", async (line) => keep(opened, line, HASH, await readyOut(keys))],
  ["sealed", sealed],
];

describe.each(FORMS)("a line that is %s", (form, hide) => {
  it.each(LINES)("comes back byte for byte: %j", async (raw) => {
    const hidden = await hide(row(7, raw));
    expect(hidden.form).toBe(form);
    expect(await openRow(opened, hidden)).toEqual(row(7, raw));
  });

  it("says nothing of itself but what must stay readable", async () => {
    const hidden = await hide(row(7, LINES[0] ?? ""));
    const { text, ...beside } = hidden;
    const shown = JSON.stringify(beside) + hex(text) + new TextDecoder("latin1").decode(text);
    for (const word of ["salt", "note", "漢"]) expect(shown).not.toContain(word);
    const { device, seq, id, case: of, sha256 } = hidden;
    expect({ device, seq, id, case: of, sha256 }).toEqual({
      device: DEVICE,
      seq: 7,
      id: "id7",
      case: "c1",
      sha256: HASH,
    });
  });

  it("opens nowhere else: another phone's keys, another place, a changed text", async () => {
    const hidden = await hide(row(7, LINES[0] ?? ""));
    expect(await openRow(other, hidden)).toBeNull();
    for (const change of [
      { seq: 8 },
      { id: "id8" },
      { case: "c2" },
      { case: null },
      { device: "x" },
      { sha256: "" },
    ]) {
      expect(await openRow(opened, { ...hidden, ...change })).toBeNull();
    }
    for (const at of [0, hidden.text.length - 1]) {
      const text = hidden.text.slice();
      text[at] = (text[at] ?? 0) ^ 1;
      expect(await openRow(opened, { ...hidden, text })).toBeNull();
    }
    for (const length of [0, 10, hidden.text.length - 1]) {
      expect(await openRow(opened, { ...hidden, text: hidden.text.slice(0, length) })).toBeNull();
    }
  });

  it("is never twice the same", async () => {
    const [a, b] = [await hide(row(7, "{}\t{}")), await hide(row(7, "{}\t{}"))];
    expect(hex(a.text)).not.toBe(hex(b.text));
  });
});

it("a line that the server has is kept with nothing for it", async () => {
  const hidden = await keep(opened, row(7, "{}\t{}"), HASH, null);
  expect(hidden.out).toBeNull();
  expect(await openRow(opened, hidden)).toEqual(row(7, "{}\t{}"));
});

it("a seal made ahead serves one line, and a second is refused", async () => {
  const seals = await readySeals(keys);
  await sealRow(seals, row(1, "a"), HASH);
  await expect(sealRow(seals, row(2, "b"), HASH)).rejects.toThrow("used already");
});
