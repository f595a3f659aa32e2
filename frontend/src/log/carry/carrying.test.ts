import { afterEach, describe, expect, it } from "vitest";
import { FakeServer } from "../testing/fakeServer";
import { OPENED, Phone, type Tab } from "../testing/phone";
import type { Carrying } from "../types";

const phones: Phone[] = [];
afterEach(async () => {
  for (const phone of phones.splice(0)) await phone.closeAll();
});

interface Away {
  server: FakeServer;
  phone: Phone;
  tab: Tab;
  carrying: Carrying;
  device: string;
}

/** A phone that was enrolled and has lost its network since, with a case of five lines that wait. */
async function away(server = new FakeServer(), lines = 5): Promise<Away> {
  const phone = new Phone(server);
  phones.push(phone);
  const tab = await phone.tab();
  await tab.log.enrol("ABCD-2345", "Room 2");
  await phone.pass(5_000);
  server.reachable = false;
  await tab.log.append("case.opened", OPENED, { case: "c1" });
  for (let n = 1; n < lines; n++) await comfort(tab);
  return { server, phone, tab, carrying: await tab.log.carrying(), device: tab.log.device.value?.id ?? "" };
}

const comfort = (tab: Tab): Promise<unknown> =>
  tab.log.append("comfort.noted", { score: 3, bothers: [], note: "" }, { case: "c1" });

async function made(carrying: Carrying): Promise<string> {
  const file = await carrying.make();
  if (!file.ok) throw new Error(file.fault.why);
  return file.text;
}

async function codeOf(carrying: Carrying, text: string): Promise<string | null> {
  const opened = await carrying.open(text);
  if (!opened.ok) expect(opened.fault.why.length).toBeGreaterThan(30);
  return opened.ok ? null : opened.fault.code;
}

const seqsOf = (server: FakeServer, device: string): number[] => server.lines(device).map(({ seq }) => seq);

describe("out and back", () => {
  it("settles what the server took, and the network brings nothing a second time", async () => {
    const { server, phone, tab, carrying, device } = await away();
    expect(await carrying.state()).toEqual({ ready: true, waiting: 5, files: [] });
    const before = tab.log.sync.value.waiting;
    const file = await made(carrying);
    expect(tab.log.sync.value.waiting).toBe(before); // made is not taken
    expect(file).not.toContain(OPENED.code);
    expect((await carrying.state()).files).toMatchObject([{ lines: 5, takenAt: null }]);

    const answer = await server.carrying.take(file);
    expect(await carrying.open(answer)).toEqual({ ok: true, settled: 5, taken: 5, refused: 0 });
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, offeredAgain: 0 });
    const all = seqsOf(server, device);
    expect(all.map((seq) => tab.log.placeOf(device, seq))).toEqual(all.map(() => "server"));
    expect((await carrying.state()).files).toMatchObject([{ lines: 5, takenAt: server.now }]);

    server.reachable = true;
    server.sentLines.length = 0;
    await phone.pass(400_000);
    expect(server.sentLines).toEqual([]);
    await comfort(tab);
    await phone.pass(5_000);
    expect(server.sentLines).toHaveLength(1);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, offeredAgain: 0, refused: [] });
  });

  it("an answer opened twice, or after a sync, changes nothing more", async () => {
    const { server, phone, tab, carrying } = await away();
    const answer = await server.carrying.take(await made(carrying));
    expect(await carrying.open(answer)).toMatchObject({ settled: 5 });
    expect(await carrying.open(answer)).toMatchObject({ ok: true, settled: 0, taken: 5 });
    server.reachable = true;
    await phone.pass(400_000);
    expect(await carrying.open(answer)).toMatchObject({ ok: true, settled: 0 });
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, offeredAgain: 0 });
  });

  it("lines that were written since the file go on waiting", async () => {
    const { server, tab, carrying } = await away();
    const file = await made(carrying);
    await comfort(tab);
    expect(await carrying.open(await server.carrying.take(file))).toMatchObject({ settled: 5 });
    expect(tab.log.sync.value.waiting).toBe(1);
    const [part] = await server.carrying.opened(await made(carrying));
    expect(part?.lines).toHaveLength(1);
  });

  it("all tabs are told, and a reload finds it", async () => {
    const { server, phone, carrying } = await away();
    const other = await phone.tab();
    await carrying.open(await server.carrying.take(await made(carrying)));
    await phone.settle();
    expect(other.log.sync.value.waiting).toBe(0);
    expect((await phone.tab()).log.sync.value.waiting).toBe(0);
  });

  it("a long log goes in parts, each signed, all in order", async () => {
    const { server, tab, carrying, device } = await away(new FakeServer(), 2);
    const note = "x".repeat(15_000);
    for (let n = 0; n < 40; n++)
      await tab.log.append("comfort.noted", { score: 3, bothers: [], note }, { case: "c1" });
    const file = await made(carrying);
    const parts = await server.carrying.opened(file);
    expect(parts.length).toBeGreaterThan(2);
    expect(parts.every((part) => part.header.signature !== null)).toBe(true);
    expect(await carrying.open(await server.carrying.take(file))).toMatchObject({ settled: 42 });
    const seqs = seqsOf(server, device);
    expect(seqs).toEqual(seqs.map((_, n) => n + 1));
  });
});

it("a refused line is named, stays, and is not offered again", async () => {
  const { server, phone, tab, carrying } = await away();
  server.refuseTypes.add("comfort.noted");
  const opened = await carrying.open(await server.carrying.take(await made(carrying)));
  expect(opened).toMatchObject({ ok: true, settled: 1, refused: 4 });
  expect(tab.log.sync.value.waiting).toBe(0);
  expect(tab.log.sync.value.refused.map(({ type, code }) => [type, code])).toEqual(
    Array.from({ length: 4 }, () => ["comfort.noted", "bad_body"]),
  );
  server.reachable = true;
  server.sentLines.length = 0;
  await phone.pass(400_000);
  expect(server.sentLines).toEqual([]);
});

describe("what is not taken", () => {
  it("is said, and nothing is lost or settled by it", async () => {
    const { server, tab, carrying } = await away();
    const file = await made(carrying);
    const answer = await server.carrying.take(file);
    const [row = "", seal = ""] = answer.split("\n");
    const said = JSON.parse(row);
    const foreign = new FakeServer();
    foreign.now = server.now;
    const spoilt: [string, string][] = [
      ["", "not_receipts"],
      ["a letter", "not_receipts"],
      ["[1,2]\n{}\n", "not_receipts"],
      [file, "not_an_answer"],
      [answer.slice(0, 60), "cut_short"],
      [`${row}\n`, "cut_short"],
      [`${row}\n${seal}`, "cut_short"],
      [`${row}\n${seal}\n${seal}\n`, "damaged"],
      [`${row.replace("[[", "[ [")}\n${seal}\n`, "damaged"],
      [`${row}\n${seal.replace("sha256", "sha255")}\n`, "damaged"],
      [answer.replace('"v":1', '"v":2'), "unknown_format"],
      [await foreign.carrying.sealed(said), "not_signed"],
      [await server.carrying.sealed({ ...said, device: "another" }), "other_phone"],
      [await server.carrying.sealed({ ...said, file: "another" }), "other_file"],
      [await server.carrying.sealed({ ...said, taken: "all" }), "damaged"],
      [await server.carrying.sealed({ ...said, refused: [{}] }), "damaged"],
    ];
    for (const [text, code] of spoilt) {
      expect([text.slice(0, 80), await codeOf(carrying, text)]).toEqual([text.slice(0, 80), code]);
      expect(tab.log.sync.value.waiting).toBe(5);
    }
    // by mail: other line ends
    expect(await carrying.open(answer.replaceAll("\n", "\r\n"))).toMatchObject({ settled: 5 });
  });

  it("any single changed letter of an answer is found", async () => {
    const { server, tab, carrying } = await away(new FakeServer(), 1);
    const answer = await server.carrying.take(await made(carrying));
    const changes = [...answer.slice(0, -1)].map((was, at): [number, string] => [
      at,
      was === "0" ? "1" : "0",
    ]);
    // the last letter of the signature: in base64 some of its bits mean nothing
    const last = answer.replace(/[="}\n]+$/, "").length - 1;
    const others = [..."ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"];
    for (const letter of others) if (letter !== answer[last]) changes.push([last, letter]);
    for (const [at, letter] of changes) {
      const changed = answer.slice(0, at) + letter + answer.slice(at + 1);
      expect([at, (await carrying.open(changed)).ok]).toEqual([at, false]);
    }
    expect(tab.log.sync.value.waiting).toBe(1);
    expect((await carrying.open(answer)).ok).toBe(true);
  });

  it("what the answer names beyond the file settles nothing", async () => {
    const { server, tab, carrying } = await away();
    const file = await made(carrying);
    await comfort(tab);
    const answer = await server.carrying.take(file, { taken: [[1, 1000]] });
    expect(await carrying.open(answer)).toMatchObject({ settled: 5 });
    expect(tab.log.sync.value.waiting).toBe(1);
  });

  it("brings the word of the server's last backup, without which nothing is cleared", async () => {
    const { server, phone, tab, carrying } = await away();
    await tab.log.append("case.closed", { outcome: "completed", note: "" }, { case: "c1" });
    const late = phone.wall + 40 * 86_400_000;
    server.now = late;
    const file = await made(carrying);
    expect(await carrying.open(await server.carrying.take(file))).toMatchObject({ ok: true, settled: 6 });
    expect(await tab.log.clearOld(late, 7)).toBe(0);
    const before = await server.carrying.take(file); // an answer from before the backup, opened after the next
    server.backUp();
    server.now += 1000;
    expect(await carrying.open(await server.carrying.take(file))).toMatchObject({ ok: true });
    expect(await carrying.open(before)).toMatchObject({ ok: true });
    expect(await tab.log.clearOld(late, 7)).toBe(6);
  });

  it("taken without a receipt for this chain is held there, and not final", async () => {
    const { server, tab, carrying, device } = await away();
    const forged = { device, seq: 3, head_sha256: "0".repeat(64), at: 1, signature: "AAAA" };
    const file = await made(carrying);
    const answer = await server.carrying.take(file, {
      receipt: { ...forged, server: server.id, epoch: server.epoch },
    });
    expect(await carrying.open(answer)).toMatchObject({ settled: 5 });
    const last = seqsOf(server, device).at(-1) ?? 0;
    expect(tab.log.placeOf(device, last)).toBe("hub"); // not to be cleared before the server's own word
  });
});

describe("a server that was set back", () => {
  it("after its answer: what that says no longer counts once the phone has heard of it", async () => {
    const { server, phone, tab, carrying, device } = await away();
    const empty = server.snapshot();
    const answer = await server.carrying.take(await made(carrying));
    server.restore(empty);
    server.now += 1000;
    server.refuseTypes.add("case.opened");
    server.reachable = true;
    await phone.pass(400_000);
    const before = [tab.log.sync.value, seqsOf(server, device)];
    expect(await codeOf(carrying, answer)).toBe("outdated");
    expect([tab.log.sync.value, seqsOf(server, device)]).toEqual(before);
    expect(tab.log.sync.value.refused.map(({ type }) => type)).toEqual(["case.opened"]);
  });

  it("before its answer: what it lost goes on waiting, what it took does not", async () => {
    const { server, phone, tab, carrying, device } = await away();
    const file = await made(carrying);
    const first = seqsOf(server, device).length;
    server.restore({ kept: [], position: 0 });
    server.now += 1000;
    expect(await carrying.open(await server.carrying.take(file))).toMatchObject({ settled: 5 });
    // the earlier lines, which it had and has no more, are offered again
    server.reachable = true;
    await phone.pass(400_000);
    const seqs = seqsOf(server, device);
    expect(seqs).toEqual(Array.from({ length: first + 5 }, (_, n) => n + 1));
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, offeredAgain: first });
  });
});

it("at a hub: the file is for the final server, and the hub is still offered its lines", async () => {
  const beyond = new FakeServer();
  beyond.id = "server-9";
  const hub = new FakeServer();
  hub.kind = "hub";
  hub.beyond = beyond;
  const { phone, tab, carrying, device } = await away(hub);
  const answer = await beyond.carrying.take(await made(carrying));
  expect(await carrying.open(answer)).toMatchObject({ settled: 5 });
  expect(tab.log.sync.value.waiting).toBe(0);
  const last = tab.log.caseOf("c1")?.latest;
  expect(last).toBeDefined();
  expect(await carrying.make()).toMatchObject({ ok: false, fault: { code: "nothing_waits" } });
  hub.reachable = true;
  hub.sentLines.length = 0;
  await phone.pass(400_000);
  expect(hub.sentLines).toHaveLength(5);
  expect(tab.log.sync.value).toMatchObject({ waiting: 0, offeredAgain: 0 });
  expect(seqsOf(hub, device).slice(-5)).toEqual(seqsOf(beyond, device).slice(-5));
});

describe("the key", () => {
  it("is asked for later where enrolment did not tell it", async () => {
    const server = new FakeServer();
    server.tellsCarryingKey = false;
    const { carrying } = await away(server);
    expect((await carrying.state()).ready).toBe(true); // learnt with the first exchange
    expect(await server.carrying.opened(await made(carrying))).toHaveLength(1);
  });

  it("by another than the final server is not believed", async () => {
    const server = new FakeServer();
    const stranger = new FakeServer();
    stranger.id = "server-1";
    server.carrying.told = () => stranger.carrying.told();
    const { carrying, tab } = await away(server);
    expect(await carrying.state()).toMatchObject({ ready: false, waiting: 5 });
    expect(await carrying.make()).toMatchObject({ ok: false, fault: { code: "key_unknown" } });
    expect(tab.log.sync.value.waiting).toBe(5);
  });
});
