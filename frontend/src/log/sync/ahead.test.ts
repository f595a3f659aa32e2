import { afterEach, describe, expect, it, vi } from "vitest";
import { minus } from "../ranges";
import type { FakeServer, Mischief } from "../testing/fakeServer";
import type { Phone, Tab } from "../testing/phone";
import { ready } from "../testing/ready";
import { Kept } from "./kept";
import { ROUND_MS } from "./loop";

afterEach(() => void vi.restoreAllMocks());

describe("in several batches, each read while the answer to the one before is awaited", () => {
  const LINES = 170;
  /** `before`: once it is enrolled. */
  const many = async (
    tricks: (at: { server: FakeServer; phone: Phone; tab: Tab }) => Mischief[] = () => [],
    before: (tab: Tab) => Promise<unknown> = () => Promise.resolve(),
  ) => {
    const { server, phone, tab, device } = await ready();
    await before(tab);
    await phone.settle();
    server.reachable = false;
    for (let i = 0; i < LINES; i++) {
      await tab.log.append("case.handed_over", { to: "x", note: "n".repeat(12_000) }, { case: "c1" });
    }
    const asked = server.requests.length;
    server.reachable = true;
    server.mischief.push(...tricks({ server, phone, tab }));
    tab.log.syncNow();
    await phone.settle();
    return { server, phone, tab, device, requests: () => server.requests.slice(asked) };
  };
  const each = (server: FakeServer, device: string): number[] => server.lines(device).map(({ seq }) => seq);

  it("sends each line once, and says rightly how many wait", async () => {
    const { server, tab, device, requests } = await many();
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle", fault: null });
    expect(each(server, device)).toEqual(each(server, device).map((_, i) => i + 1));
    expect(new Set(server.sentLines).size).toBe(server.sentLines.length);
    expect(requests().length).toBe(3); // 960 KiB each, of 2 MB
    const heads = requests().map(({ head_seq }) => head_seq);
    const last = server.lines(device).length;
    expect(requests().map(({ waiting }) => waiting)).toEqual([
      LINES,
      last - (heads[0] ?? 0),
      last - (heads[1] ?? 0),
    ]);
    expect(requests().map(({ cursor }) => cursor)).toEqual([...new Set(requests().map((r) => r.cursor))]);
  });

  it.each<[string, Mischief]>([
    ["only half of the first is named", { kind: "half" }],
    ["the first one's answer is lost", { kind: "lose_answer" }],
    ["the first is not taken", { kind: "status", status: 500 }],
  ])("where %s, those come again before the rest", async (_, trick) => {
    const { server, phone, tab, device, requests } = await many(() => [trick]);
    await phone.pass(10_000);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle" });
    expect(each(server, device)).toEqual(each(server, device).map((_, i) => i + 1));
    expect(requests().map(({ head_seq }) => head_seq)).toEqual(
      [...requests().map(({ head_seq }) => head_seq)].sort((a, b) => a - b),
    );
  });

  /** Of each answer that is to be stored: how many requests had come by then, and the first line it names. */
  const storing = (server: FakeServer): [number, number][] => {
    const seen: [number, number][] = [];
    const real = Kept.prototype.answer;
    vi.spyOn(Kept.prototype, "answer").mockImplementation(function (this: Kept, pulled, work) {
      const asked = server.requests.length;
      return real.call(this, pulled, (before) => {
        const taken = work(before);
        const named = minus(taken.memory.held, before.held)[0];
        if (before.serverNow !== null && named) seen.push([asked, named[0]]);
        return taken;
      });
    });
    return seen;
  };

  it("sends the next as soon as an answer says that all was taken, and stores the answers in their order", async () => {
    let seen: [number, number][] = [];
    const { phone, requests, server } = await many((at) => {
      seen = storing(at.server);
      return [];
    });
    expect(phone.syncs.ahead).toBe(2);
    const heads = requests().map(({ head_seq }) => head_seq);
    const all = server.requests.length;
    const from = (heads[2] ?? 0) - LINES + 1;
    expect(seen).toEqual([
      [all - 1, from],
      [all, (heads[0] ?? 0) + 1],
      [all, (heads[1] ?? 0) + 1],
    ]);
  });

  it.each<[string, Mischief, number]>([
    ["is lost", { kind: "lose_answer" }, 1],
    ["is cut", { kind: "cut" }, 1],
    ["comes from somebody else", { kind: "portal" }, 1],
    ["is an error", { kind: "status", status: 500 }, 1],
    ["is that it is too large", { kind: "status", status: 413 }, 2],
    ["is that it can't be read in short form", { kind: "status", status: 400 }, 2],
    ["names only half", { kind: "half" }, 1],
    ["never comes", { kind: "hang" }, 1],
  ])(
    "where the answer to the second %s, each line is there once, and acknowledged",
    async (_, trick, ahead) => {
      const { server, phone, tab, device } = await many(() => [{ kind: "fine" }, trick]);
      expect(phone.syncs.ahead).toBeGreaterThanOrEqual(ahead);
      await phone.pass(60_000);
      expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle", offeredAgain: 0, refused: [] });
      expect(each(server, device)).toEqual(each(server, device).map((_, i) => i + 1));
      for (const seq of each(server, device)) expect(tab.log.placeOf(device, seq)).toBe("server");
    },
  );

  it("stores nothing of the second where the first could not be stored, and offers both again", async () => {
    const { server, phone, tab, device } = await many(() => {
      vi.spyOn(Kept.prototype, "answer").mockRejectedValueOnce(new Error("no room"));
      return [];
    });
    expect(phone.syncs.ahead).toBe(1);
    expect(tab.log.sync.value).toMatchObject({
      waiting: LINES,
      state: "waiting",
      fault: { why: "no room" },
    });
    await phone.pass(10_000);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle", offeredAgain: 0 });
    expect(each(server, device)).toEqual(each(server, device).map((_, i) => i + 1));
    expect(server.sentLines.length).toBeGreaterThan(new Set(server.sentLines).size);
  });

  it("offers all again to a server that is set back in between", async () => {
    const { server, phone, tab, device } = await many(({ server }) => {
      const old = server.snapshot();
      return [{ kind: "fine" }, { kind: "meanwhile", work: () => server.restore(old) }];
    });
    await phone.pass(10_000);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle" });
    expect(tab.log.sync.value.offeredAgain).toBeGreaterThan(50);
    expect(each(server, device)).toEqual(each(server, device).map((_, i) => i + 1));
  });

  it("asks a server that has another epoch for what that holds, before it goes on", async () => {
    const { phone, tab, requests } = await many(({ server }) => [
      { kind: "meanwhile", work: () => server.restore(server.snapshot()) },
    ]);
    expect(requests().map(({ epoch }) => epoch)).toEqual(["epoch-1", "epoch-2", "epoch-2"]);
    expect(phone.syncs.ahead).toBe(1); // the third
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle", offeredAgain: 0 });
  });

  it("goes no further where an answer had nothing new", async () => {
    const { server, phone, tab, device, requests } = await many(() => {
      const real = Kept.prototype.answer;
      vi.spyOn(Kept.prototype, "answer").mockImplementationOnce(async function (this: Kept, ...given) {
        const done = await real.apply(this, given);
        return { ...done, before: done.taken.memory }; // as if its lines had been settled by file
      });
      return [];
    });
    expect(phone.syncs.ahead).toBe(1);
    expect(tab.log.sync.value).toMatchObject({ state: "waiting" });
    expect(requests()).toHaveLength(2);
    expect(tab.log.placeOf(device, requests()[0]?.head_seq ?? 0)).toBe("server");
    expect(tab.log.placeOf(device, requests()[1]?.head_seq ?? 0)).toBe("phone");
    await phone.pass(10_000);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle" });
    expect(each(server, device)).toEqual(each(server, device).map((_, i) => i + 1));
  });

  it("waits for what the server no longer holds, and for what comes from others", async () => {
    const { server, phone, tab, device } = await many(({ server }) => [
      { kind: "meanwhile", work: () => void server.foreign("other", 1, "c1", "x", {}, 1) },
      { kind: "meanwhile", work: () => void server.state.kept.shift() },
    ]);
    await phone.pass(10_000);
    expect(phone.syncs.ahead).toBe(0);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle", offeredAgain: 1 });
    expect(each(server, device)).toEqual(each(server, device).map((_, i) => i + 1));
  });

  it("leaves the rest to the next page where this one is closed in between", async () => {
    const { server, phone, device } = await many(({ tab }) => [
      { kind: "fine" },
      { kind: "meanwhile", work: () => tab.close() },
    ]);
    await phone.quiet();
    const sent = server.requests.length;
    await phone.pass(400_000);
    expect(server.requests.length).toBe(sent);
    const again = await phone.tab();
    await vi.waitFor(async () => {
      await phone.pass(1_000);
      expect(again.log.sync.value).toMatchObject({ waiting: 0, state: "idle", offeredAgain: 0 });
    });
    expect(each(server, device)).toEqual(each(server, device).map((_, i) => i + 1));
  });

  it("sends nothing that was read before the phone was locked", async () => {
    const locking: Promise<void>[] = [];
    const { server, phone, tab, device, requests } = await many(
      ({ tab }) => [
        { kind: "meanwhile", work: () => void locking.push(tab.log.lock().then((lock) => lock.lock())) },
      ],
      async (tab) => (await tab.log.lock()).setFirst("AB", "246813"),
    );
    await Promise.all(locking);
    await phone.pass(10_000);
    expect(phone.syncs.ahead).toBe(0);
    expect(requests().map(({ sealed }) => sealed)).toEqual([false, true, true]);
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle" });
    expect(each(server, device)).toEqual(each(server, device).map((_, i) => i + 1));
  });

  it("lets go of the lock after a while, between two requests", async () => {
    const { phone, tab, requests } = await many(({ phone }) => [
      { kind: "meanwhile", work: () => phone.skip(ROUND_MS) },
    ]);
    expect(requests()).toHaveLength(3);
    expect(phone.syncs.ahead).toBe(1); // the third, in a round with the second
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle" });
  });
});
