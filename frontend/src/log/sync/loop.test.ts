import { openDB } from "idb";
import { describe, expect, it } from "vitest";
import type { LogSchema } from "../db";
import type { FakeServer, Mischief } from "../testing/fakeServer";
import { OPENED, type Phone, type Tab } from "../testing/phone";
import { ready } from "../testing/ready";

const write = (tab: Tab, of = "c1"): Promise<unknown> =>
  tab.log.append("comfort.noted", { score: 3, bothers: [], note: "" }, { case: of });

describe("an answer that fails", () => {
  const cases: [string, Mischief, string][] = [
    ["unreachable", { kind: "unreachable" }, "no_network"],
    ["lost", { kind: "lose_answer" }, "no_network"],
    ["an error of the server", { kind: "status", status: 500, code: "broken" }, "broken"],
    ["a network's own sign-in page", { kind: "portal" }, "not_an_answer"],
  ];
  it.each(cases)(
    "%s: nothing is acknowledged, and the next try brings each line once",
    async (_, trick, code) => {
      const { server, phone, tab, device } = await ready();
      server.mischief.push(trick);
      await write(tab);
      await phone.pass(1_500);
      expect(tab.log.sync.value).toMatchObject({ state: "waiting", waiting: 1, fault: { code } });
      await phone.pass(10_000);
      expect(tab.log.sync.value).toMatchObject({ state: "idle", waiting: 0, fault: null });
      const seqs = server.lines(device).map(({ seq }) => seq);
      expect(seqs).toEqual(seqs.map((_, i) => i + 1));
    },
  );

  it("no answer at all: the time limit ends it, and the next batch is smaller", async () => {
    const { server, phone, tab } = await ready();
    server.mischief.push({ kind: "hang" });
    await write(tab);
    await phone.pass(2_000);
    expect(tab.log.sync.value.state).toBe("sending");
    await phone.pass(30_000);
    expect(tab.log.sync.value.fault?.code).toBe("no_answer");
    await phone.pass(10_000);
    expect(tab.log.sync.value.waiting).toBe(0);
  });

  it("waits longer each time, but not for ever, and a person's hand goes first", async () => {
    const { server, phone, tab } = await ready();
    server.reachable = false;
    await write(tab);
    let before = 0;
    for (let i = 0; i < 12; i++) {
      await phone.pass(300_000);
      const next = (tab.log.sync.value.nextAt ?? 0) - phone.wall;
      expect(next).toBeLessThanOrEqual(300_000);
      before = Math.max(before, next);
    }
    expect(before).toBeGreaterThan(60_000);
    server.reachable = true;
    tab.log.syncNow();
    await phone.settle();
    expect(tab.log.sync.value).toMatchObject({ state: "idle", waiting: 0 });
  });

  it("leaves the server alone for as long as it asks", async () => {
    const { server, phone, tab } = await ready();
    server.mischief.push({ kind: "status", status: 503, retryAfter: "120" });
    await write(tab);
    await phone.pass(1_500);
    expect((tab.log.sync.value.nextAt ?? 0) - phone.wall).toBeGreaterThan(100_000);
  });
});

describe("what the server says of lines", () => {
  it("moves a refused line to a visible list, and the rest go on", async () => {
    const { server, phone, tab, device } = await ready();
    server.refuseTypes.add("pause.noted");
    await tab.log.append("case.opened", OPENED, { case: "c1" });
    const bad = await tab.log.append("pause.noted", { state: "started", why: "" }, { case: "c1" });
    await write(tab);
    await phone.pass(5_000);
    const { refused, waiting, state } = tab.log.sync.value;
    expect({ waiting, state }).toEqual({ waiting: 0, state: "idle" });
    expect(refused).toMatchObject([
      { id: bad.id, seq: bad.seq, type: "pause.noted", code: "bad_body", case: "c1" },
    ]);
    expect(tab.log.placeOf(device, bad.seq)).toBe("refused");
    expect(tab.log.placeOf(device, bad.seq + 1)).toBe("server");
    expect(await (await tab.log.exportLines()).text()).toContain(bad.id);
    const asked = server.requests.length;
    await phone.pass(1_000);
    expect(server.requests.length).toBe(asked);
    tab.close();
    const again = await phone.tab();
    expect(again.log.sync.value.refused).toHaveLength(1);
  });

  it("takes only named lines as acknowledged", async () => {
    const { server, phone, tab, device } = await ready();
    server.reachable = false;
    for (let i = 0; i < 4; i++) await write(tab);
    server.reachable = true;
    server.mischief.push({ kind: "half" });
    tab.log.syncNow();
    await phone.settle();
    await phone.pass(10_000);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, offeredAgain: 0 });
    for (const { seq, id } of server.lines(device)) {
      expect(server.acknowledged.has(id)).toBe(true);
      expect(tab.log.placeOf(device, seq)).toBe("server");
    }
  });

  it("halves a batch that is too large until it goes through", async () => {
    const { server, phone, tab, device } = await ready();
    server.reachable = false;
    for (let i = 0; i < 30; i++) {
      await tab.log.append("case.handed_over", { to: "x", note: "n".repeat(12_000) }, { case: "c1" });
    }
    server.maxBytes = 60_000;
    server.reachable = true;
    tab.log.syncNow();
    await phone.settle();
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle" });
    expect(server.lines(device)).toHaveLength(
      tab.log.sync.value.unreadable + (server.lines(device).at(-1)?.seq ?? 0),
    );
    expect(server.requests.filter((request) => request.head_seq > 0).length).toBeGreaterThanOrEqual(7);
  });

  it("offers again what a restored server no longer holds", async () => {
    const { server, phone, tab, device } = await ready();
    const old = server.snapshot();
    for (let i = 0; i < 3; i++) await write(tab);
    await phone.pass(5_000);
    server.restore(old);
    await write(tab);
    await phone.pass(5_000);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, offeredAgain: 3, state: "idle" });
    const seqs = server.lines(device).map(({ seq }) => seq);
    expect(seqs).toEqual(seqs.map((_, i) => i + 1));
  });

  it("offers again even when an old file was copied back under the same epoch", async () => {
    const { server, phone, tab, device } = await ready();
    const old = server.snapshot();
    for (let i = 0; i < 3; i++) await write(tab);
    await phone.pass(5_000);
    server.restore(old, true);
    await phone.pass(61_000);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, offeredAgain: 3 });
    expect(server.lines(device).at(-1)?.seq).toBe(server.lines(device).length);
  });

  it("asks at its slowest pace when answers move nothing", async () => {
    const { server, phone, tab } = await ready();
    server.reachable = false;
    await write(tab);
    server.reachable = true;
    const real = server.fetch;
    const asked: number[] = [];
    // takes each batch and never names a line
    (server as { fetch: FakeServer["fetch"] }).fetch = async (path, init) => {
      asked.push(phone.uptime);
      const answer = (await (await real(path, init)).json()) as { lines: unknown[] };
      return new Response(JSON.stringify({ ...answer, lines: [], taken: null }));
    };
    tab.log.syncNow();
    await phone.settle();
    await phone.pass(60_000);
    expect(tab.log.sync.value).toMatchObject({ state: "stuck", waiting: 1 });
    const before = asked.length;
    expect(before).toBeLessThanOrEqual(4);
    await phone.pass(3_600_000);
    expect(asked.length - before).toBeLessThanOrEqual(20);
  });
});

describe("lines in short form", () => {
  const three = async (tab: Tab): Promise<void> => {
    for (let i = 0; i < 3; i++) await write(tab);
  };
  const stored = async ({ database }: Phone, device: string): Promise<string[]> => {
    const db = await openDB<LogSchema>(database);
    const rows = await db.getAll("lines", IDBKeyRange.bound([device, 1], [device, 1_000]));
    db.close();
    return rows.map((row) => (row.form === "plain" ? row.raw : ""));
  };
  const asShort = (server: FakeServer): boolean[] =>
    server.requests.filter(({ head_seq }) => head_seq > 0).map(({ short }) => short);

  it("are sent once the server has said that it takes them, also after a reload", async () => {
    const { server, phone, tab, device } = await ready();
    await three(tab);
    await phone.pass(5_000);
    tab.close();
    const again = await phone.tab();
    await phone.settle();
    await three(again);
    await phone.pass(5_000);
    expect(again.log.sync.value).toMatchObject({ waiting: 0, state: "idle", refused: [] });
    const [first, ...rest] = asShort(server);
    expect(first).toBe(false);
    expect(rest.length).toBeGreaterThanOrEqual(2);
    expect(rest).not.toContain(false);
    expect(server.lines(device).map(({ raw }) => raw)).toEqual(await stored(phone, device));
    for (const { seq } of server.lines(device)) expect(again.log.placeOf(device, seq)).toBe("server");
  });

  it("go whole in the same round where the server has become one that does not know them", async () => {
    const { server, phone, tab, device } = await ready();
    await three(tab);
    await phone.pass(5_000);
    server.takesShort = false;
    const before = server.requests.length;
    await three(tab);
    await phone.pass(2_000);
    await three(tab);
    await phone.pass(2_000);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle", fault: null, refused: [] });
    expect(server.requests.slice(before).map(({ short }) => short)).toEqual([true, false, false]);
    expect(server.lines(device).map(({ raw }) => raw)).toEqual(await stored(phone, device));
    expect(new Set(server.sentLines).size).toBe(server.lines(device).length);
  });

  it("go whole where one is not as it was when it was chained, which is then refused by itself", async () => {
    const { server, phone, tab, device } = await ready();
    server.reachable = false;
    await three(tab);
    await three(tab);
    const db = await openDB<LogSchema>(phone.database);
    const seq = (await db.count("lines")) - 3;
    const row = await db.get("lines", [device, seq]);
    if (row?.form !== "plain") throw new Error("not there");
    await db.put("lines", { ...row, raw: row.raw.replace('"score":3', '"score":4') });
    db.close();
    const before = server.requests.length;
    server.reachable = true;
    tab.log.syncNow();
    await phone.settle();
    expect(server.requests.slice(before).map(({ short }) => short)).toEqual([true, false]);
    expect(tab.log.sync.value.refused).toMatchObject([{ seq, code: "body_hash" }]);
    expect(tab.log.placeOf(device, seq - 1)).toBe("server");
  });

  it("are not made of lines with a gap between them", async () => {
    const { server, phone, tab, device } = await ready();
    server.refuseTypes.add("pause.noted");
    const old = server.snapshot();
    await write(tab);
    await tab.log.append("pause.noted", { state: "started", why: "" }, { case: "c1" });
    await write(tab);
    await phone.pass(5_000);
    server.restore(old, true);
    const before = server.requests.length;
    await phone.pass(61_000);
    const asked = server.requests.slice(before).filter(({ head_seq }) => head_seq > 0);
    expect(asked.map(({ short }) => short)).toContain(false);
    expect(tab.log.sync.value).toMatchObject({ state: "idle", waiting: 0, offeredAgain: 2 });
    expect(tab.log.placeOf(device, 3)).toBe("server");
  });
});

describe("shut out", () => {
  it("withdrawn: keeps its log and goes on recording, also after a reload", async () => {
    const { server, phone, tab } = await ready();
    server.withdrawn = true;
    await write(tab);
    await phone.pass(5_000);
    expect(tab.log.sync.value).toMatchObject({ state: "withdrawn", withdrawn: true, waiting: 1 });
    await write(tab);
    expect(tab.log.sync.value.waiting).toBe(2);
    const asked = server.requests.length;
    await phone.pass(3_600_000);
    tab.comesBack();
    await phone.settle();
    expect(server.requests.length).toBe(asked);
    tab.close();
    const again = await phone.tab();
    await phone.pass(120_000);
    expect(again.log.sync.value).toMatchObject({ state: "withdrawn", withdrawn: true, waiting: 2 });
    server.withdrawn = false;
    expect(await again.log.enrol("ABCD-2345", "Room 2")).toEqual({ ok: true });
    await phone.settle();
    expect(again.log.sync.value).toMatchObject({ state: "idle", withdrawn: false, waiting: 0 });
    expect(new Set(server.tokens.values()).size).toBe(1);
  });

  it("unknown: says so and waits for a person", async () => {
    const { server, phone, tab } = await ready();
    server.tokens.clear();
    await write(tab);
    await phone.pass(5_000);
    expect(tab.log.sync.value).toMatchObject({ state: "unknown", withdrawn: false, waiting: 1 });
  });

  it("too old: goes on recording", async () => {
    const { server, phone, tab } = await ready();
    server.mischief.push({ kind: "status", status: 426, code: "app_too_old" });
    await write(tab);
    await phone.pass(2_000);
    expect(tab.log.sync.value).toMatchObject({ state: "outdated", waiting: 1 });
    await write(tab);
    expect(tab.log.sync.value.waiting).toBe(2);
  });
});
