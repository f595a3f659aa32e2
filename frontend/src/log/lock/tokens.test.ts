// read in already, so that settling never waits for a file
import "./door";
import "./provide";
import "./tokens";
import { openDB } from "idb";
import { afterEach, describe, expect, it, vi } from "vitest";
import { sha256 } from "../bytes";
import type { Meta } from "../db";
import type { FakeServer } from "../testing/fakeServer";
import { enrolledPhone, OPENED, type Phone, type Tab } from "../testing/phone";
import type { Lock } from "../types";

const [NAME, PIN] = ["AB", "246813"];
const phones: Phone[] = [];
afterEach(async () => {
  for (const phone of phones.splice(0)) await phone.closeAll();
});

interface Used {
  server: FakeServer;
  phone: Phone;
  tab: Tab;
  lock: Lock;
}

async function used(): Promise<Used> {
  const made = await enrolledPhone();
  phones.push(made.phone);
  await made.tab.log.append("case.opened", { ...OPENED, code: "HR-0042" }, { case: "c1" });
  await made.phone.pass(5_000);
  return { ...made, lock: await made.tab.log.lock() };
}

async function withPin(): Promise<Used> {
  return (await withPinAndFormer()).made;
}

async function row(phone: Phone): Promise<Meta["device"]> {
  const db = await openDB(phone.database);
  const found = await db.get("meta", "device");
  db.close();
  return found;
}

const LONG = { timeout: 20_000 };

/** Until the server knows the token that is stored to send by, and of no full one that was not used: the phone sees to it
 * beside what the screens wait for. */
async function provided({ phone, server }: Used): Promise<void> {
  await vi.waitFor(async () => {
    await phone.pass(1_000); // a round that another one held up comes later
    const { id, full, token } = await row(phone);
    expect(full).toBeDefined();
    expect(server.desk.send.get(id)).toBe(await sha256(token));
    expect(server.desk.next.size).toBe(0);
  }, LONG);
  await phone.settle();
}

function askedAboutTokens({ server }: Used): number {
  return server.asked.filter(({ path }) => path === "/api/tokens").length;
}

/** Until the phone has tried once more than so often. */
async function tried(made: Used, before: number): Promise<void> {
  await vi.waitFor(() => expect(askedAboutTokens(made)).toBeGreaterThan(before), LONG);
  await made.phone.settle();
}

async function setFirst(made: Used): Promise<void> {
  expect(await made.lock.setFirst(NAME, PIN)).toMatchObject({ ok: true });
}

async function unlock(made: Used): Promise<void> {
  expect(await made.lock.unlock(NAME, PIN)).toMatchObject({ ok: true });
}

async function withPinAndFormer(): Promise<{ made: Used; before: string }> {
  const made = await used();
  const [before = ""] = fullTokens(made.server);
  await setFirst(made);
  await provided(made);
  return { made, before };
}

/** Until the server has said that it does not know the phone. */
async function unknown({ phone, tab }: Used): Promise<void> {
  const { sync } = tab.log;
  for (let n = 0; n < 30 && sync.value.state !== "unknown"; n++) await phone.pass(5_000);
  expect(sync.value.state).toBe("unknown");
}

/** All that can be read in the phone's log with no key: the first bytes of a token would show as well. */
async function stored(phone: Phone): Promise<string> {
  const db = await openDB(phone.database);
  const all = await Promise.all([...db.objectStoreNames].map((name) => db.getAll(name)));
  db.close();
  return JSON.stringify(all, (_, value) =>
    value instanceof Uint8Array ? new TextDecoder().decode(value) : value,
  );
}

async function isReadable(phone: Phone, token: string): Promise<boolean> {
  return (await stored(phone)).includes(JSON.stringify(token));
}

const write = ({ tab }: Used, note: string) =>
  tab.log.append("comfort.noted", { score: 6, bothers: [], note }, { case: "c1" });

async function sent({ phone, tab }: Used): Promise<void> {
  const goesOn = (): boolean => tab.log.sync.value.waiting > 0 || tab.log.sync.value.state !== "idle";
  for (let n = 0; n < 30 && goesOn(); n++) await phone.pass(5_000);
  expect(tab.log.sync.value).toMatchObject({ state: "idle", waiting: 0, fault: null });
}

function fullTokens(server: FakeServer): string[] {
  return [...server.tokens.keys()];
}

/** Locked, it sends by the token that may only send; unlocked, by the full one, which is not readable. */
async function goesByBoth(made: Used): Promise<void> {
  const { server, phone, tab, lock } = made;
  await provided(made);
  for (const token of fullTokens(server)) expect(await isReadable(phone, token)).toBe(false);
  await lock.lock();
  await write(made, "locked");
  await sent(made);
  expect(server.bySendOnly.at(-1)).toBe(true);
  await unlock(made);
  await write(made, "unlocked");
  await sent(made);
  expect(server.bySendOnly.at(-1)).toBe(false);
  expect(
    tab.log
      .caseOf("c1")
      ?.comfort.slice(-2)
      .map(({ body }) => body.note),
  ).toEqual(["locked", "unlocked"]);
}

describe("the first PIN", () => {
  it("leaves readable a token that may only send, and ends the full one that was", async () => {
    const made = await used();
    const [before = ""] = fullTokens(made.server);
    expect(await isReadable(made.phone, before)).toBe(true);
    await setFirst(made);
    await provided(made);
    expect(fullTokens(made.server)).toHaveLength(1);
    expect(await made.server.desk.by(before)).toBeNull();
    await goesByBoth(made);
    expect(made.tab.log.device.value).not.toHaveProperty("full");
  });

  it("on a phone of an older server leaves all as it was; the next unlock after its update does it", async () => {
    const made = await used();
    made.server.desk.knowsSendOnly = false;
    const [before = ""] = fullTokens(made.server);
    await setFirst(made);
    await tried(made, 0);
    await made.lock.lock();
    await write(made, "locked, by the full one");
    await sent(made);
    expect(made.server.bySendOnly.at(-1)).toBe(false);
    expect(fullTokens(made.server)).toEqual([before]);
    made.server.desk.knowsSendOnly = true;
    await unlock(made);
    await provided(made);
    expect(await made.server.desk.by(before)).toBeNull();
    await goesByBoth(made);
  });

  it("whose answer about tokens is lost, each of the two times, shuts nobody out", async () => {
    for (const lost of [1, 2]) {
      const made = await used();
      const { fetch } = made.tab.env;
      let asked = 0;
      made.tab.env.fetch = async (path, init) => {
        const answer = await fetch(path, init);
        if (path === "/api/tokens" && ++asked === lost) throw new TypeError("connection reset");
        return answer;
      };
      await setFirst(made);
      await tried(made, lost - 1);
      await write(made, "goes on");
      await sent(made);
      await made.lock.lock();
      await write(made, "locked");
      await sent(made);
      await unlock(made);
      await goesByBoth(made);
    }
  });
});

describe("a locked phone", () => {
  it("pulls nothing and asks for nothing else; unlocked, the pull goes on where it was", async () => {
    const made = await withPin();
    const { server, tab, lock } = made;
    await server.foreign("other", 1, "c2", "case.opened", { ...OPENED, code: "HR-0077" }, 1);
    tab.log.syncNow();
    await made.phone.pass(5_000);
    expect(tab.log.caseOf("c2")?.code).toBe("HR-0077");
    const cursor = server.state.position;
    await lock.lock();
    await server.foreign("other", 2, "c3", "case.opened", { ...OPENED, code: "HR-0088" }, 2);
    const [syncs, others] = [server.requests.length, server.asked.length];
    await write(made, "locked");
    await sent(made);
    await made.phone.pass(3_600_000);
    expect(server.requests.length).toBeGreaterThan(syncs + 1);
    expect(server.bySendOnly.slice(syncs).every((only) => only)).toBe(true);
    expect(server.asked.slice(others)).toEqual([]);
    const locked = server.requests.length;
    await unlock(made);
    for (let n = 0; n < 30 && !tab.log.caseOf("c3"); n++) await made.phone.pass(5_000);
    // all of them, and the first after the unlock
    for (const header of server.requests.slice(syncs, locked + 1)) expect(header.cursor).toBe(cursor);
    expect(tab.log.caseOf("c3")?.code).toBe("HR-0088");
    expect(tab.log.sync.value.unreadable).toBe(0);
  });

  it("that a server which was set back does not know is known again after an unlock", async () => {
    const made = await withPin();
    made.server.desk.send.clear();
    await made.lock.lock();
    await write(made, "waits");
    await unknown(made);
    expect(made.tab.log.sync.value.waiting).toBe(1);
    await unlock(made);
    await sent(made);
    await goesByBoth(made);
  });
});

describe("a server that was set back to before the first PIN", () => {
  it("knows the former full token: by that one the phone makes others at an unlock", async () => {
    const { made, before } = await withPinAndFormer();
    await made.lock.lock();
    made.server.desk.put([[[before, made.tab.log.device.value?.id ?? ""]]]);
    await write(made, "waits");
    await unknown(made);
    expect(made.tab.log.sync.value.waiting).toBe(1);
    await unlock(made);
    await provided(made);
    await sent(made);
    expect(await made.server.desk.by(before)).toBeNull();
    await goesByBoth(made);
  });

  it("is gone along with at once where the phone is unlocked", async () => {
    const { made, before } = await withPinAndFormer();
    const { server, tab } = made;
    server.desk.put([[[before, tab.log.device.value?.id ?? ""]]]);
    await write(made, "goes over");
    await made.phone.pass(5_000);
    await provided(made);
    await sent(made);
    expect(await server.desk.by(before)).toBeNull();
    await goesByBoth(made);
  });

  it("and to an older version: the phone goes on by the former, until an update", async () => {
    const { made, before } = await withPinAndFormer();
    const { server } = made;
    server.desk.put([[[before, made.tab.log.device.value?.id ?? ""]]]);
    server.desk.knowsSendOnly = false;
    await made.lock.lock();
    await unlock(made);
    await vi.waitFor(async () => expect(await row(made.phone)).toMatchObject({ token: before }), LONG);
    await write(made, "by the former");
    await sent(made);
    expect(await isReadable(made.phone, before)).toBe(true);
    server.desk.knowsSendOnly = true;
    await made.lock.lock();
    await unlock(made);
    await provided(made);
    expect(await server.desk.by(before)).toBeNull();
    await goesByBoth(made);
  });

  it("is not believed where it knows neither: all stays as it is, and a new code helps", async () => {
    const made = await withPin();
    const { server, tab, lock } = made;
    server.desk.put([[["of nobody's", made.tab.log.device.value?.id ?? ""]]]);
    await lock.lock();
    const [before, asked] = [await row(made.phone), askedAboutTokens(made)];
    await unlock(made);
    await tried(made, asked);
    await unknown(made);
    expect(await row(made.phone)).toEqual(before);
    expect(await tab.log.enrol("abcd 2345", "Room 2")).toEqual({ ok: true });
    server.tokens.delete("of nobody's");
    await goesByBoth(made);
  });
});

describe("enrolled anew", () => {
  it("locked or unlocked, the full token never stands readable, and what was before is void", async () => {
    for (const locked of [true, false]) {
      const made = await withPin();
      const { server, tab, lock, phone } = made;
      const [before = ""] = fullTokens(server);
      if (locked) await lock.lock();
      expect(await tab.log.enrol("abcd 2345", "Room 3")).toEqual({ ok: true });
      const latest = fullTokens(server).at(-1) ?? "";
      expect(latest).not.toBe(before);
      expect(await isReadable(phone, latest)).toBe(false);
      expect(tab.log.device.value?.label).toBe("Room 3");
      if (locked) await unlock(made);
      await goesByBoth(made);
    }
  });

  it("by the code that opens it: the full token is hidden, and opens with the new PIN", async () => {
    const made = await withPin();
    await made.lock.lock();
    expect(await made.lock.recover("ABCD-2345", NAME, PIN)).toMatchObject({ ok: true });
    await goesByBoth(made);
  });

  it("at another server goes by tokens of that one", async () => {
    const made = await withPin();
    const { server, tab } = made;
    server.id = "server-2";
    server.epoch = "epoch-9";
    server.tokens.clear();
    server.desk.send.clear();
    expect(await tab.log.enrol("abcd 2345", "Room 2")).toEqual({ ok: true });
    await sent(made);
    await goesByBoth(made);
  });

  it("at an older server goes on by the full one alone", async () => {
    const made = await withPin();
    made.server.desk.knowsSendOnly = false;
    expect(await made.tab.log.enrol("abcd 2345", "Room 2")).toEqual({ ok: true });
    expect(await isReadable(made.phone, fullTokens(made.server).at(-1) ?? "")).toBe(true);
    await made.lock.lock();
    await write(made, "locked");
    await sent(made);
    made.server.desk.knowsSendOnly = true;
    await unlock(made);
    await goesByBoth(made);
  });
});

describe("two tabs", () => {
  it("that are unlocked at once, where the token lacks, end with one that both go by", async () => {
    const made = await used();
    made.server.desk.knowsSendOnly = false;
    await setFirst(made);
    await tried(made, 0);
    const other = await made.phone.tab();
    const second: Used = { ...made, tab: other, lock: await other.log.lock() };
    await made.lock.lock();
    made.server.desk.knowsSendOnly = true;
    await Promise.all([made.lock.unlock(NAME, PIN), second.lock.unlock(NAME, PIN)]);
    await goesByBoth(made);
    await goesByBoth(second);
  });
});
