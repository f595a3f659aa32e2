import "fake-indexeddb/auto";
import { afterEach, describe, expect, it } from "vitest";
import { Database, LOCKED_VERSION, type StoredRow } from "../db";
import { IN_THE_CLEAR } from "../hiding";
import { Store } from "../store";
import type { FakeServer } from "../testing/fakeServer";
import { enrolledPhone, OPENED, type Phone, type Tab } from "../testing/phone";
import { encryptStore } from "./first";
import { Guard } from "./guard";
import { Locked, Unlocked } from "./hiding";
import { newKeys } from "./keys";

const [NAME, PIN, FEW] = ["AB", "246813", 10];
const ROOM = "HR-0042";
const REFUSED = "this type is refused";
const phones: Phone[] = [];
const databases: Database[] = [];
afterEach(async () => {
  for (const database of databases.splice(0)) database.close();
  for (const phone of phones.splice(0)) await phone.closeAll();
});

/** A phone that was used without PINs: lines of its own, sent and not sent, and another phone's. */
async function used(): Promise<{ server: FakeServer; phone: Phone; tab: Tab; device: string }> {
  const { server, phone, tab } = await enrolledPhone();
  phones.push(phone);
  await tab.log.append("case.opened", { ...OPENED, code: ROOM }, { case: "c1" });
  await server.foreign("other", 1, "c1", "comfort.noted", { score: 2, bothers: [], note: ROOM }, 5);
  server.refuseTypes.add("pause.noted");
  await tab.log.append("pause.noted", { state: "started", why: ROOM }, { case: "c1" });
  await phone.pass(60_000);
  server.reachable = false;
  await tab.log.append("comfort.noted", { score: 6, bothers: ["light"], note: ROOM }, { case: "c1" });
  await phone.settle();
  return { server, phone, tab, device: tab.log.device.value?.id ?? "" };
}

function opened(phone: Phone, version?: number): Database {
  const database = new Database(() => undefined, phone.database, version);
  databases.push(database);
  return database;
}

async function keysFor(server: FakeServer, device: string) {
  return newKeys(device, (await server.carrying.told()).key, NAME, PIN, FEW);
}

async function stored(database: Database): Promise<StoredRow[]> {
  return database.run((db) => db.getAll("lines"));
}

/** All that is in the database, as one text, bytes as letters. */
async function everything(database: Database): Promise<string> {
  const letters = new TextDecoder("latin1");
  return database.run(async (db) => {
    const parts = await Promise.all(
      (["lines", "meta", "exchange", "refused"] as const).map((s) => db.getAll(s)),
    );
    return JSON.stringify(parts, (_, value: unknown) =>
      value instanceof Uint8Array ? letters.decode(value) : value,
    );
  });
}

/** The phone after its first PIN, its tab closed. */
async function withPin() {
  const { server, phone, tab, device } = await used();
  const before = await new Store(opened(phone)).everything();
  tab.close();
  const { keys, opened: secret } = await keysFor(server, device);
  const database = opened(phone);
  await encryptStore(database, keys, secret, NAME, PIN);
  return { server, phone, device, before, keys, secret, database };
}

describe("the first PIN", () => {
  it("leaves every line as it was for whoever unlocks, and nothing for whoever does not", async () => {
    const { phone, before, database, device } = await withPin();
    expect(before.lines.map(({ device: by }) => by === device)).toContain(false);
    expect(before.refused).toMatchObject([{ type: "pause.noted", reason: REFUSED }]);
    expect(await everything(database)).not.toMatch(new RegExp(`${ROOM}|${REFUSED}|pause`));
    expect((await stored(database)).map(({ form }) => form)).toEqual(before.lines.map(() => "kept"));
    expect((await new Store(database).everything()).lines).toEqual(before.lines);
    database.close();

    const later = opened(phone, LOCKED_VERSION);
    const locked = await new Store(later).everything();
    expect([locked.lines, locked.refused.map(({ reason }) => reason)]).toEqual([[], [""]]);
    const guard = new Guard({ now: () => 1 }, later, FEW);
    const said = await guard.unlock(NAME, PIN);
    const keys = await guard.keys();
    if (!said.ok || !keys) throw new Error("it unlocks");
    later.hiding = new Locked(keys);
    expect((await new Store(later).everything()).refused).toMatchObject([{ type: "", reason: "" }]);
    later.hiding = new Unlocked(keys, said.opened);
    const after = await new Store(later).everything();
    expect(after).toEqual(before);
  });

  it("what waits can be sent as before, and what another phone wrote has nothing for the server", async () => {
    const { database, device } = await withPin();
    for (const row of await stored(database)) {
      expect(row.form === "kept" && (row.out !== null) === (row.device === device)).toBe(true);
    }
    const waiting = await new Store(database).unsentLines();
    expect(waiting.map((row) => row.raw.includes(ROOM))).toEqual([true, true]); // the refused one, and the unsent
  });

  it("an app that knows of no PINs is kept out, and is told so", async () => {
    const { phone } = await withPin();
    await expect(opened(phone).run((db) => db.getAll("lines"))).rejects.toMatchObject({
      name: "VersionError",
    });
  });

  it("is not set twice", async () => {
    const { database, keys, secret } = await withPin();
    const before = await stored(database);
    await expect(encryptStore(database, keys, secret, NAME, PIN)).rejects.toThrow("already");
    expect(await stored(database)).toEqual(before);
  });
});

describe("all or nothing", () => {
  it("a PIN that does not open the new keys changes nothing", async () => {
    const { server, phone, tab, device } = await used();
    tab.close();
    const { keys, opened: secret } = await keysFor(server, device);
    const database = opened(phone);
    const before = await everything(database);
    await expect(encryptStore(database, keys, secret, NAME, "864209")).rejects.toThrow("does not open");
    expect(await everything(database)).toBe(before);
  });

  it("keys that do not belong together change nothing", async () => {
    const { server, phone, tab, device } = await used();
    tab.close();
    const { keys } = await keysFor(server, device);
    const { opened: another } = await keysFor(server, device);
    const database = opened(phone);
    const before = await everything(database);
    const mixed = { ...another, dataKey: await broken() };
    await expect(encryptStore(database, keys, mixed, NAME, PIN)).rejects.toThrow();
    expect(await everything(database)).toBe(before);
  });

  it("a failure while the rows are written changes nothing, and the phone goes on without PINs", async () => {
    const { server, phone, tab, device } = await used();
    tab.close();
    const { keys, opened: secret } = await keysFor(server, device);
    const database = opened(phone);
    const before = await everything(database);
    const put = IDBObjectStore.prototype.put;
    let puts = 0;
    IDBObjectStore.prototype.put = function (...given: Parameters<typeof put>) {
      puts += 1;
      if (puts === 2) throw new DOMException("no room", "QuotaExceededError");
      return put.apply(this, given);
    };
    try {
      await expect(encryptStore(database, keys, secret, NAME, PIN)).rejects.toMatchObject({
        name: "QuotaExceededError",
      });
    } finally {
      IDBObjectStore.prototype.put = put;
    }
    expect(await everything(database)).toBe(before);
    expect((await new Store(database).everything()).lines.length).toBeGreaterThan(2);
  });

  it("of two first PINs set at once, one stands and the other is refused", async () => {
    const { server, phone, tab, device } = await used();
    const before = await new Store(opened(phone)).everything();
    tab.close();
    const pages = await Promise.all(
      ["246813", "975310"].map(async (pin) => {
        const made = await newKeys(device, (await server.carrying.told()).key, NAME, pin, FEW);
        return { ...made, pin, database: opened(phone) };
      }),
    );
    const done = await Promise.allSettled(
      pages.map(({ database, keys, opened: secret, pin }) => encryptStore(database, keys, secret, NAME, pin)),
    );
    expect(done.map(({ status }) => status).sort()).toEqual(["fulfilled", "rejected"]);
    const won = pages[done.findIndex(({ status }) => status === "fulfilled")];
    const lost = pages[done.findIndex(({ status }) => status === "rejected")];
    if (!won || !lost) throw new Error("one of each");
    expect(await new Store(won.database).everything()).toEqual(before);
    expect((await new Guard({ now: () => 1 }, won.database, FEW).unlock(NAME, won.pin)).ok).toBe(true);
    // the page that lost writes nothing by keys that are not stored
    await expect(lost.database.run((db) => db.getAll("lines"))).rejects.toMatchObject({
      name: "VersionError",
    });
    expect(lost.database.hiding).toBe(IN_THE_CLEAR);
  });

  it("a page that finds the store changed writes nothing in the clear", async () => {
    const { phone } = await withPin();
    const late = opened(phone);
    const error = await late.run((db) => db.getAll("lines")).catch((failed: unknown) => failed);
    expect(late.mayHavePins(error)).toBe(true);
    const [row] = await stored(late);
    await expect(late.hiding.hide({ ...(row as StoredRow), form: "plain", raw: "x" })).rejects.toThrow(
      "not read",
    );
    expect((await new Store(late).everything()).lines).toEqual([]);
    expect(late.mayHavePins(error)).toBe(false);
  });

  it("a line of another phone that comes meanwhile is encrypted too", async () => {
    const { server, phone, tab, device } = await used();
    tab.close();
    const { keys, opened: secret } = await keysFor(server, device);
    const beside = opened(phone);
    const row = { device: "other", seq: 2, id: "late", case: "c1", form: "plain" as const, raw: "{}\t{}" };
    const database = opened(phone);
    await whileEncrypting(
      () => beside.run((db) => db.add("lines", row)),
      () => encryptStore(database, keys, secret, NAME, PIN),
    );
    expect((await stored(database)).every(({ form }) => form === "kept")).toBe(true);
    expect((await new Store(database).everything()).lines).toContainEqual(row);
  });

  it("a line that another tab writes meanwhile is encrypted too", async () => {
    const { server, phone, tab, device } = await used();
    const { keys, opened: secret } = await keysFor(server, device);
    const database = opened(phone);
    await whileEncrypting(
      () => tab.log.append("comfort.noted", { score: 9, bothers: [], note: "late" }, { case: "c1" }),
      () => encryptStore(database, keys, secret, NAME, PIN),
    );
    const rows = (await new Store(database).everything()).lines;
    expect(rows.filter(({ raw }) => raw.includes('"late"'))).toHaveLength(1);
    expect((await stored(database)).every(({ form }) => form === "kept")).toBe(true);
    // the other tab finds itself locked, and loses no line
    const { id } = await tab.log.append("comfort.noted", { score: 1, bothers: [], note: "" }, { case: "c1" });
    expect(tab.log.failure.value).toBeNull();
    expect(tab.log.lockView.value).toEqual({ state: "locked" });
    expect((await stored(database)).find((row) => row.id === id)?.form).toBe("sealed");
  });
});

/** `work`, with something else done when it first encrypts. */
async function whileEncrypting(other: () => Promise<unknown>, work: () => Promise<void>): Promise<void> {
  const encrypt = crypto.subtle.encrypt.bind(crypto.subtle);
  let late: Promise<unknown> | null = null;
  crypto.subtle.encrypt = async (...given) => {
    late ??= other();
    await late;
    return encrypt(...given);
  };
  try {
    await work();
  } finally {
    crypto.subtle.encrypt = encrypt;
  }
}

async function broken(): Promise<CryptoKey> {
  return crypto.subtle.generateKey({ name: "AES-GCM", length: 256 }, true, ["encrypt"]);
}
