import "fake-indexeddb/auto";
import { afterEach, describe, expect, it } from "vitest";
import { sha256 } from "../bytes";
import { Database, LOCKED_VERSION, type StoredRow } from "../db";
import { envelopeText } from "../line";
import { Store } from "../store";
import { Loop } from "../sync/loop";
import type { FakeServer } from "../testing/fakeServer";
import { enrolledPhone, OPENED, type Phone, Tab } from "../testing/phone";
import { type Draft, Writer } from "../writer";
import { encryptStore } from "./first";
import { Locked, Unlocked } from "./hiding";
import { type LockKeys, newKeys, type Opened } from "./keys";

const FAINT = "felt faint";
const ended: (() => Promise<void> | void)[] = [];
afterEach(async () => {
  for (const end of ended.splice(0)) await end();
});

interface Held {
  server: FakeServer;
  phone: Phone;
  tab: Tab;
  device: string;
  keys: LockKeys;
  opened: Opened;
  database: Database;
}

/** A phone with a PIN and a case, all sent; nobody has unlocked it. */
async function locked(): Promise<Held> {
  const { server, phone, tab } = await enrolledPhone();
  await tab.log.append("case.opened", OPENED, { case: "c1" });
  await phone.pass(5_000);
  const device = tab.log.device.value?.id ?? "";
  tab.close();
  const { keys, opened } = await newKeys(device, (await server.carrying.told()).key, "AB", "246813", 10);
  const first = new Database(() => undefined, phone.database);
  await encryptStore(first, keys, opened, "AB", "246813");
  first.close();
  const database = new Database(() => undefined, phone.database, LOCKED_VERSION);
  database.hiding = new Locked(keys);
  ended.push(() => database.close());
  return { server, phone, tab: new Tab(phone), device, keys, opened, database };
}

function writer({ tab, database }: Held): Writer {
  return new Writer(
    tab.env,
    new Store(database),
    () => undefined,
    () => undefined,
  );
}

const event = (note: string): Draft => ({
  type: "comfort.noted",
  fields: { score: 7, bothers: [], note },
  case: "c1",
  practice: false,
  pack: null,
  actor: null,
  seen: null,
});

/** One exchange, until nothing of it is under way. */
async function exchanged({ tab, database }: Held): Promise<void> {
  const loop = new Loop(tab.env, database, {
    changed: () => undefined,
    answered: () => Promise.resolve(),
  });
  ended.push(() => loop.close());
  loop.tell("asked");
  while (loop.view.state === "sending") await loop.running;
  expect(loop.view.fault).toBeNull();
}

describe("on a locked phone", () => {
  it("a line is written at once, and only whoever unlocks can read it afterwards", async () => {
    const held = await locked();
    const { id } = await writer(held).append(held.device, event(FAINT));
    const rows = await held.database.run((db) => db.getAll("lines"));
    const row = rows.at(-1);
    expect(row).toMatchObject({ id, form: "sealed", case: "c1" });
    // another page, still locked
    held.database.hiding = new Locked(held.keys);
    expect((await new Store(held.database).everything()).lines).toEqual([]);
    held.database.hiding = new Unlocked(held.keys, held.opened);
    const { lines, head } = await new Store(held.database).everything();
    const own = lines.filter(({ device }) => device === held.device);
    expect(own.at(-1)?.raw).toContain(FAINT);
    // one chain, before and after
    for (const [n, line] of own.entries()) {
      const prev = own[n - 1];
      if (prev) expect(line.raw).toContain(`"prev":"${await sha256(envelopeText(prev.raw))}"`);
    }
    expect(head.sha256).toBe(await sha256(envelopeText(own.at(-1)?.raw ?? "")));
  });

  it("the page that wrote it goes on with it, and reads nothing older", async () => {
    const held = await locked();
    const { id } = await writer(held).append(held.device, event(FAINT));
    const { lines } = await new Store(held.database).everything();
    expect(lines.map((line) => line.id)).toEqual([id]);
  });

  it("only lines that wait are read from the store, and since when they wait is known; the others are counted", async () => {
    const held = await locked();
    const sent = await held.database.run((db) => db.count("lines"));
    const { seq, at } = await writer(held).append(held.device, event(FAINT));
    held.database.hiding = new Locked(held.keys); // another page
    const rows: StoredRow[][] = [];
    const { show } = held.database.hiding;
    held.database.hiding.show = (some) => {
      rows.push([...some]);
      return show.call(held.database.hiding, some);
    };
    const { hidden } = await new Store(held.database).everything();
    expect(rows.map((some) => some.map((row) => row.seq))).toEqual([[seq]]);
    expect(hidden).toHaveLength(sent + 1);
    expect(hidden.filter((line) => line.at > 0)).toEqual([{ device: held.device, seq, at }]);
  });

  it("what is written is sent sealed, and taken by the server as any other line", async () => {
    const held = await locked();
    const before = held.server.lines(held.device).length;
    const write = writer(held);
    for (const note of [FAINT, "better"]) await write.append(held.device, event(note));
    held.server.sentLines.length = 0;
    await exchanged(held);
    expect(held.server.requests.at(-1)).toMatchObject({ sealed: true });
    expect(held.server.sentLines.join("")).not.toMatch(/felt|comfort|\{/);
    const there = held.server.lines(held.device);
    expect(there).toHaveLength(before + 2);
    held.database.hiding = new Unlocked(held.keys, held.opened);
    const { lines, sync } = await new Store(held.database).everything();
    const own = lines.filter(({ device }) => device === held.device);
    expect(there.map(({ raw }) => raw)).toEqual(own.map(({ raw }) => raw));
    expect(sync.held).toEqual([[1, there.length]]);
  });

  it("the head that is signed is that of the last line that goes", async () => {
    const held = await locked();
    await writer(held).append(held.device, event(FAINT));
    await exchanged(held);
    const last = held.server.lines(held.device).at(-1);
    const header = held.server.requests.filter(({ signature }) => signature !== null).at(-1);
    expect(header?.head_sha256).toBe(await sha256(envelopeText(last?.raw ?? "")));
    expect(header?.sealed).toBe(true);
  });

  it("what the server refuses is told once it is unlocked, and cannot be read before", async () => {
    const held = await locked();
    held.server.refuseTypes.add("comfort.noted");
    const { id, at } = await writer(held).append(held.device, event(FAINT));
    await exchanged(held);
    const store = new Store(held.database);
    expect((await store.exchange()).refused).toMatchObject([{ id, at, reason: "" }]);
    expect(JSON.stringify(await held.database.run((db) => db.getAll("refused")))).not.toContain("this type");
    held.database.hiding = new Unlocked(held.keys, held.opened);
    const told = [
      { id, at, type: "comfort.noted", case: "c1", code: "bad_body", reason: "this type is refused" },
    ];
    expect((await store.exchange()).refused).toMatchObject(told);
    expect((await store.everything()).refused).toMatchObject(told);
  });

  it("others' lines are not taken in, and come once it is unlocked", async () => {
    const held = await locked();
    await held.server.foreign("other", 1, "c1", "comfort.noted", { score: 2, bothers: [], note: "" }, 5);
    const before = await held.database.run((db) => db.count("lines"));
    await exchanged(held);
    expect(await held.database.run((db) => db.count("lines"))).toBe(before);
    held.database.hiding = new Unlocked(held.keys, held.opened);
    await exchanged(held);
    const rows = await held.database.run((db) => db.getAll("lines"));
    expect(rows.filter(({ device }) => device === "other")).toMatchObject([{ form: "kept", out: null }]);
  });
});

describe("unlocked", () => {
  it("lines are kept, sent as they are, and can be sent sealed when it is locked before they went", async () => {
    const held = await locked();
    held.database.hiding = new Unlocked(held.keys, held.opened);
    await writer(held).append(held.device, event("first"));
    await exchanged(held);
    expect(held.server.requests.at(-1)).toMatchObject({ sealed: false });
    held.server.reachable = false;
    await writer(held).append(held.device, event("second"));
    held.server.reachable = true;
    held.database.hiding = new Locked(held.keys);
    await exchanged(held);
    expect(held.server.requests.at(-1)).toMatchObject({ sealed: true });
    expect(held.server.lines(held.device).at(-1)?.raw).toContain("second");
  });

  it("a line that was made for one way of storing is never stored after the other has begun", async () => {
    const held = await locked();
    const unlocked = new Unlocked(held.keys, held.opened);
    const hide = unlocked.hide.bind(unlocked);
    let turned = 0;
    unlocked.hide = async (row, known) => {
      const hidden = await hide(row, known);
      if (turned++ === 0) held.database.hiding = new Locked(held.keys);
      return hidden;
    };
    held.database.hiding = unlocked;
    await writer(held).append(held.device, event(FAINT));
    const rows = await held.database.run((db) => db.getAll("lines"));
    expect(rows.at(-1)?.form).toBe("sealed");
    expect(turned).toBe(1);
  });
});
