// read in already, so that settling never waits for a file
import "./door";
import { openDB } from "idb";
import { afterEach, describe, expect, it, vi } from "vitest";
import type { FakeServer } from "../testing/fakeServer";
import { enrolledPhone, OPENED, type Phone, type Tab } from "../testing/phone";
import type { Lock } from "../types";
import { Unlocked } from "./hiding";

const [NAME, PIN] = ["AB", "246813"];
const phones: Phone[] = [];
afterEach(async () => {
  for (const phone of phones.splice(0)) await phone.closeAll();
});

async function used(): Promise<{ server: FakeServer; phone: Phone; tab: Tab; lock: Lock }> {
  const made = await enrolledPhone();
  phones.push(made.phone);
  await made.tab.log.append("case.opened", { ...OPENED, code: "HR-0042" }, { case: "c1" });
  await made.phone.pass(5_000);
  return { ...made, lock: await made.tab.log.lock() };
}

async function withPin() {
  const made = await used();
  expect(await made.lock.setFirst(NAME, PIN)).toEqual({ ok: true, name: NAME });
  await made.phone.settle();
  return made;
}

/** The same phone after its page was closed. */
async function reopened(phone: Phone, tab: Tab): Promise<{ tab: Tab; lock: Lock }> {
  tab.close();
  await phone.settle();
  const again = await phone.tab();
  return { tab: again, lock: await again.log.lock() };
}

const write = (tab: Tab, note: string) =>
  tab.log.append("comfort.noted", { score: 6, bothers: [], note }, { case: "c1" });

/** Until nothing waits: on a slow machine a round that another one held up comes later. */
async function sent(phone: Phone, tab: Tab): Promise<void> {
  for (let n = 0; n < 30 && tab.log.sync.value.waiting > 0; n++) await phone.pass(5_000);
}

describe("a phone with PINs", () => {
  it("goes on as it was once the first is set, and has none before", async () => {
    const { tab, lock, phone, server } = await used();
    expect(tab.log.lockView.value).toEqual({ state: "open" });
    expect(await lock.people()).toEqual([]);
    await lock.setFirst(NAME, PIN);
    await phone.settle();
    expect(tab.log.lockView.value).toEqual({ state: "unlocked", name: NAME });
    expect(tab.log.caseOf("c1")?.code).toBe("HR-0042");
    await write(tab, "after");
    await phone.pass(5_000);
    expect(server.lines(tab.log.device.value?.id ?? "").at(-1)?.raw).toContain("after");
    expect(server.requests.every(({ sealed }) => !sealed)).toBe(true);
  });

  it("begins locked: no case is shown, what waits is counted, and a PIN gives it all back", async () => {
    const first = await withPin();
    first.server.reachable = false;
    await write(first.tab, "waits");
    const oldest = first.tab.log.sync.value.oldestAt;
    const { tab, lock } = await reopened(first.phone, first.tab);
    expect(tab.log.failure.value).toBeNull();
    expect(tab.log.lockView.value).toEqual({ state: "locked" });
    // the case in hand is known by its id alone
    expect(tab.log.cases.value).toMatchObject([{ id: "c1", code: "", eyes: [], entries: [] }]);
    expect(tab.log.device.value?.label).toBe("Room 2");
    expect(tab.log.sync.value).toMatchObject({ waiting: 1, oldestAt: oldest });
    expect(await (await tab.log.exportLines()).text()).toBe("");
    expect(await lock.unlock(NAME, "000000")).toEqual({ ok: false, why: "wrong", left: 9, ms: 0 });
    expect(await lock.unlock(NAME, PIN)).toEqual({ ok: true, name: NAME });
    expect(tab.log.caseOf("c1")?.comfort.map(({ body }) => body.note)).toEqual(["waits"]);
    expect(tab.log.sync.value.waiting).toBe(1);
  });

  it("locked, it writes and sends; whoever unlocks then reads it", async () => {
    const first = await withPin();
    const { tab, lock } = await reopened(first.phone, first.tab);
    await first.phone.settle(); // the round that every start begins
    await write(tab, "while locked");
    await first.phone.pass(5_000);
    expect(tab.log.sync.value).toMatchObject({ state: "idle", waiting: 0, fault: null });
    expect(first.server.requests.at(-1)).toMatchObject({ sealed: true });
    const own = tab.log.device.value?.id ?? "";
    expect(first.server.lines(own).at(-1)?.raw).toContain("while locked");
    await lock.unlock(NAME, PIN);
    expect(tab.log.caseOf("c1")?.comfort.map(({ body }) => body.note)).toEqual(["while locked"]);
  });

  it("locked, it counts what a server that was set back has lost, and since when", async () => {
    const { server, phone, tab: first } = await withPin();
    const before = server.snapshot();
    const { seq, at } = await write(first, "lost");
    await write(first, "lost too");
    await sent(phone, first);
    const { tab } = await reopened(phone, first);
    await sent(phone, tab);
    server.now += 1;
    server.restore(before);
    tab.log.onAnswer(() => {
      server.reachable = false; // before it is offered again
    });
    tab.log.syncNow();
    await phone.settle();
    const place = tab.log.placeOf(tab.log.device.value?.id ?? "", seq);
    expect([place, tab.log.sync.value]).toMatchObject(["phone", { waiting: 2, oldestAt: at }]);
    server.reachable = true;
    await sent(phone, tab);
    expect(server.lines(tab.log.device.value?.id ?? "").at(-2)?.raw).toContain("lost");
  });

  it("shows what is written while its lines are being opened", async () => {
    const first = await withPin();
    const { tab, lock } = await reopened(first.phone, first.tab);
    const own = tab.log.device.value?.id;
    const { show } = Unlocked.prototype;
    let written: Promise<unknown> | null = null;
    const spied = vi.spyOn(Unlocked.prototype, "show");
    spied.mockImplementation(async function (this: Unlocked, rows) {
      // another test's phone may still be at it
      if (rows.some(({ device }) => device === own)) {
        written ??= write(tab, "meanwhile");
        await written;
      }
      return show.call(this, rows);
    });
    await lock.unlock(NAME, PIN);
    spied.mockRestore();
    await written; // it may be a round of the exchange that came first
    expect(tab.log.caseOf("c1")?.comfort.map(({ body }) => body.note)).toEqual(["meanwhile"]);
    expect(tab.log.caseOf("c1")?.code).toBe("HR-0042");
  });

  it("locked by hand, the page forgets what it showed", async () => {
    const { tab, lock, phone } = await withPin();
    await lock.lock();
    await phone.settle();
    expect(tab.log.lockView.value).toEqual({ state: "locked" });
    expect(tab.log.cases.value).toEqual([]); // none was written to since the PIN was set
    expect(tab.log.caseOf("c1")).toBeUndefined();
    expect(await lock.setPin("CD", "975310")).toEqual({ ok: false, why: "Unlock the phone first." });
    await lock.unlock(NAME, PIN);
    expect(tab.log.caseOf("c1")?.code).toBe("HR-0042");
  });
});

describe("the first PIN is refused, and nothing changes,", () => {
  it("where it is too easy, or the server can't be reached or is another", async () => {
    const { tab, lock, server } = await used();
    expect(await lock.setFirst(NAME, "123456")).toMatchObject({ ok: false, fault: { where: "pin" } });
    server.reachable = false;
    expect(await lock.setFirst(NAME, PIN)).toMatchObject({ ok: false, fault: { code: "no_answer" } });
    server.reachable = true;
    server.id = "another";
    expect(await lock.setFirst(NAME, PIN)).toMatchObject({ ok: false });
    expect(tab.log.lockView.value).toEqual({ state: "open" });
    expect(await lock.people()).toEqual([]);
    await write(tab, "in the clear");
    expect(tab.log.caseOf("c1")?.comfort).toHaveLength(1);
  });
});

describe("people", () => {
  it("each has a PIN of their own", async () => {
    const first = await withPin();
    expect(await first.lock.setPin("CD", "a long passphrase")).toEqual({ ok: true });
    const { tab, lock } = await reopened(first.phone, first.tab);
    expect(await lock.people()).toEqual([NAME, "CD"]);
    expect(await lock.unlock("cd", "a long passphrase")).toEqual({ ok: true, name: "CD" });
    expect(tab.log.lockView.value).toEqual({ state: "unlocked", name: "CD" });
  });

  it("who is withdrawn is shut out at the next contact, and the phone is locked; nothing is lost", async () => {
    const { server, phone, tab, lock } = await withPin();
    await lock.setPin("CD", "a long passphrase");
    server.withdrawnPeople = ["ab", "somebody else"];
    tab.log.syncNow();
    await phone.pass(5_000);
    expect(tab.log.lockView.value).toEqual({ state: "locked" });
    expect(await lock.people()).toEqual(["CD"]);
    expect(await lock.gone()).toEqual([NAME]);
    expect(await lock.unlock(NAME, PIN)).toEqual({ ok: false, why: "nobody" });
    await lock.unlock("CD", "a long passphrase");
    expect(tab.log.caseOf("c1")?.code).toBe("HR-0042");
  });
});

describe("other tabs", () => {
  it("one that was open when the first PIN was set is locked by it, whether it writes or only listens", async () => {
    const { phone, tab, lock, server } = await used();
    const [writes, listens] = [await phone.tab(), await phone.tab()];
    const set = lock.setFirst(NAME, PIN);
    const saved = [await write(writes, "in between"), (await set) && (await write(writes, "after"))];
    await phone.settle();
    expect(writes.log.failure.value).toBeNull();
    expect([writes, listens].map((one) => one.log.lockView.value.state)).toEqual(["locked", "locked"]);
    await sent(phone, tab);
    const ids = server.lines(tab.log.device.value?.id ?? "").map(({ id }) => id);
    expect(saved.map(({ id }) => ids.filter((one) => one === id).length)).toEqual([1, 1]);
    expect(tab.log.caseOf("c1")?.comfort.map(({ body }) => body.note)).toEqual(["in between", "after"]);
  });

  it("one that somebody has unlocked is locked when another hears that they were withdrawn", async () => {
    const { server, phone, tab } = await withPin();
    const other = await phone.tab();
    await (await other.log.lock()).unlock(NAME, PIN);
    server.withdrawnPeople = [NAME];
    tab.log.syncNow();
    for (let n = 0; n < 30 && other.log.lockView.peek().state !== "locked"; n++) await phone.pass(5_000);
    expect([tab, other].map((one) => one.log.lockView.value.state)).toEqual(["locked", "locked"]);
  });
});

describe("a server with another key", () => {
  it("is heard of at the next unlock: what is sealed from then on is for it, and it can help with a PIN", async () => {
    const first = await withPin();
    const { phone, server } = first;
    server.carrying.changeKeys();
    const { tab, lock } = await reopened(phone, first.tab);
    await phone.settle();
    await lock.unlock(NAME, PIN);
    await phone.settle();
    await lock.lock();
    await write(tab, "for the new key");
    await sent(phone, tab);
    expect(tab.log.sync.value).toMatchObject({ state: "idle", waiting: 0, fault: null });
    expect(server.requests.at(-1)).toMatchObject({ sealed: true });
    expect(await lock.recover("ABCD-2345", NAME, "864209")).toEqual({ ok: true, name: NAME });
  });
});

describe("a row that does not open", () => {
  it("stays where it is, and is counted", async () => {
    const first = await withPin();
    await write(first.tab, "damaged later");
    await first.phone.pass(120_000);
    first.tab.close();
    await first.phone.settle();
    const db = await openDB(first.phone.database);
    const all = await db.getAll("lines");
    const damaged = all.at(-1);
    damaged.text[0] ^= 1;
    await db.put("lines", damaged);
    db.close();
    const tab = await first.phone.tab();
    await (await tab.log.lock()).unlock(NAME, PIN);
    expect(tab.log.sync.value.unopened).toBe(1);
    expect(tab.log.caseOf("c1")?.comfort).toEqual([]);
    expect(tab.log.caseOf("c1")?.code).toBe("HR-0042");
  });
});

describe("the server's help", () => {
  it("by a new code: the phone opens with a new PIN, and its chain goes on", async () => {
    const first = await withPin();
    const device = first.tab.log.device.value?.id;
    const { tab, lock } = await reopened(first.phone, first.tab);
    expect(await lock.recover("ABCD-9999", NAME, "864209")).toMatchObject({
      ok: false,
      fault: { code: "code_unknown" },
    });
    expect(tab.log.lockView.value).toEqual({ state: "locked" });
    expect(await lock.recover("ABCD-2345", NAME, "864209")).toEqual({ ok: true, name: NAME });
    expect(tab.log.device.value?.id).toBe(device);
    expect(tab.log.caseOf("c1")?.code).toBe("HR-0042");
    await lock.lock();
    expect(await lock.unlock(NAME, PIN)).toMatchObject({ ok: false, why: "wrong" });
    expect(await lock.unlock(NAME, "864209")).toMatchObject({ ok: true });
    await write(tab, "goes on");
    await first.phone.pass(5_000);
    const seqs = first.server.lines(device ?? "").map(({ seq }) => seq);
    expect(seqs).toEqual(seqs.map((_, n) => n + 1));
  });
});

describe("what a locked phone may read", () => {
  it("is the case in hand and its dye's clock; an event goes to that case, as practice and by its pack", async () => {
    const first = await withPin();
    const where = { case: "c2", practice: true, pack: "p1" };
    await first.tab.log.append("case.opened", { ...OPENED, code: "T-2" }, where);
    await first.phone.pass(60_000);
    const press = { dye: "fluorescein", arm: "left" as const, route: "vein", pressed_at: 1, pressed_mono: 2 };
    await first.tab.log.append("dye.injected", press, where);
    const { tab, lock } = await reopened(first.phone, first.tab);
    const own = tab.log.device.value?.id ?? "";
    const hand = lock.inHand();
    expect(hand).toMatchObject({
      case: "c2",
      practice: true,
      pack: "p1",
      dyes: [{ dye: "fluorescein", at: 1, mono: 2 }],
    });
    const known = tab.log.caseOf("c2");
    expect(known).toMatchObject({ code: "", practice: true, opened: true, entries: [], heldBy: own });
    expect(known?.dye.injected).toMatchObject([
      { device: own, body: { dye: "fluorescein", pressed_at: 1, pressed_mono: 2 } },
    ]);
    const { id } = await tab.log.append("comfort.noted", { score: 9, bothers: [], note: "" }, { case: "c2" });
    expect(tab.log.caseOf("c2")?.dye.injected).toHaveLength(1);
    expect(tab.log.caseOf("c2")?.comfort).toHaveLength(1);
    await lock.unlock(NAME, PIN);
    const entry = tab.log.caseOf("c2")?.entries.find(({ line }) => line === id);
    expect(entry).toMatchObject({ practice: true, pack: "p1", actor: null });
  });
});

describe("an emergency on a locked phone", () => {
  it("is still running after a crash, on the case that was in hand or by itself", async () => {
    const first = await withPin();
    const locked = await reopened(first.phone, first.tab);
    const { at } = await locked.tab.log.append("reaction.started", { screen: "locked" }, { case: "alone" });
    await locked.tab.log.append("reaction.sign", { sign: "itching", seen: true }, { case: "alone" });
    const again = await reopened(first.phone, locked.tab);
    expect(again.tab.log.caseOf("alone")?.reactions).toMatchObject([{ at, ended: null }]);
    const over = { outcome: "case_goes_on" as const, note: "" };
    await again.tab.log.append("reaction.ended", over, { case: "alone" });
    const last = await reopened(first.phone, again.tab);
    expect(last.tab.log.caseOf("alone")?.reactions).toEqual([]);
    await last.lock.unlock(NAME, PIN);
    expect(last.tab.log.caseOf("alone")?.reactions).toMatchObject([{ at, ended: { body: over } }]);
  });
});

describe("who wrote on the locked phone", () => {
  it("is not known until somebody unlocks it and says so, once", async () => {
    const first = await withPin();
    const { tab, lock } = await reopened(first.phone, first.tab);
    const ids = [(await write(tab, "one")).id, (await write(tab, "two")).id];
    const { id } = await tab.log.append("reaction.started", { screen: "home" }, { case: "alone" });
    expect(await lock.unconfirmed()).toEqual([]); // locked: nobody can say it
    await lock.unlock(NAME, PIN);
    const unnamed = await lock.unconfirmed();
    expect(unnamed.map((line) => [line.id, line.type, line.case])).toEqual([
      [ids[0], "comfort.noted", "c1"],
      [ids[1], "comfort.noted", "c1"],
      [id, "reaction.started", "alone"],
    ]);
    await lock.confirm([id]);
    expect((await lock.unconfirmed()).map((line) => line.id)).toEqual(ids);
    await lock.confirm([...ids, id]);
    expect(await lock.unconfirmed()).toEqual([]);
    await lock.confirm([...ids, id]);
    const said = ["c1", "alone"].map((of) =>
      tab.log
        .caseOf(of)
        ?.entries.filter(({ type }) => type === "lines.confirmed")
        .map(({ body, actor }) => [body?.lines, body?.by, actor]),
    );
    expect(said).toEqual([[[ids, NAME, NAME]], [[[id], NAME, NAME]]]);
  });
});
