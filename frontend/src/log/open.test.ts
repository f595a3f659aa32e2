import { afterEach, describe, expect, it, vi } from "vitest";
import { envelopeText, readLine } from "./line";
import { enrolledPhone, OPENED, type Phone } from "./testing/phone";
import { AppendError } from "./types";

const openPhones: Phone[] = [];
afterEach(async () => {
  vi.restoreAllMocks();
  for (const phone of openPhones.splice(0)) await phone.closeAll();
});

describe("append", () => {
  it("asks for strict durability and resolves only when the transaction is complete", async () => {
    const { phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    const asked: (IDBTransactionOptions | undefined)[] = [];
    let complete = false;
    const real = IDBDatabase.prototype.transaction;
    vi.spyOn(IDBDatabase.prototype, "transaction").mockImplementation(function (
      this: IDBDatabase,
      stores,
      mode,
      how,
    ) {
      const tx = real.call(this, stores, mode, how);
      if (mode === "readwrite") {
        asked.push(how);
        tx.addEventListener("complete", () => {
          complete = true;
        });
      }
      return tx;
    });
    await tab.log.append("case.opened", OPENED, { case: "c1" });
    expect(complete).toBe(true);
    expect(asked).toEqual([{ durability: "strict" }]);
    expect(tab.log.caseOf("c1")?.code).toBe("T-1");
  });

  it("is one transaction", async () => {
    const { phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    await tab.log.append("case.opened", OPENED, { case: "c1" });
    const transactions = vi.spyOn(IDBDatabase.prototype, "transaction");
    await tab.log.append("case.taken", { seen: 1 }, { case: "c1" });
    expect(transactions).toHaveBeenCalledTimes(1);
  });

  it("shows nothing, and raises a blocking failure, when the write is aborted", async () => {
    const { phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    const real = IDBObjectStore.prototype.add;
    const broken = vi.spyOn(IDBObjectStore.prototype, "add").mockImplementation(function (
      this: IDBObjectStore,
      ...args: Parameters<IDBObjectStore["add"]>
    ) {
      const request = real.apply(this, args);
      this.transaction.abort();
      return request;
    });
    const failed = tab.log.append("case.opened", OPENED, { case: "c1" });
    await expect(failed).rejects.toBeInstanceOf(AppendError);
    expect(tab.log.caseOf("c1")).toBeUndefined();
    expect(tab.log.failure.value?.what).toBe("write_failed");
    broken.mockRestore();
    await tab.log.append("case.opened", OPENED, { case: "c1" });
    expect(tab.log.failure.value).toBeNull();
    expect(tab.log.caseOf("c1")?.entries).toHaveLength(1);
  });

  it("says that the phone is full when it is", async () => {
    const { phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    vi.spyOn(IDBObjectStore.prototype, "add").mockImplementation(() => {
      throw new DOMException("no room", "QuotaExceededError");
    });
    await expect(tab.log.append("case.opened", OPENED, { case: "c1" })).rejects.toMatchObject({
      code: "store_full",
    });
    expect(tab.log.failure.value?.what).toBe("store_full");
    expect(tab.log.caseOf("c1")).toBeUndefined();
  });

  it("refuses more than 16 KiB, counted in bytes, and what is no number", async () => {
    const { phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    const long = tab.log.append("case.opened", { ...OPENED, note: "眼".repeat(5_500) }, { case: "c1" });
    await expect(long).rejects.toMatchObject({ code: "too_large" });
    const wrong = tab.log.append(
      "comfort.noted",
      { score: Number.NaN, bothers: [], note: "" },
      { case: "c1" },
    );
    await expect(wrong).rejects.toMatchObject({ code: "not_finite" });
    expect(tab.log.failure.value).toBeNull();
    const fits = await tab.log.append("case.opened", { ...OPENED, note: "n".repeat(15_000) }, { case: "c1" });
    expect(fits.seq).toBeGreaterThan(1);
  });

  it("opens the store again once when the browser has dropped the connection", async () => {
    const { phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    await tab.log.append("case.opened", OPENED, { case: "c1" });
    const real = IDBDatabase.prototype.transaction;
    let first = true;
    vi.spyOn(IDBDatabase.prototype, "transaction").mockImplementation(function (this: IDBDatabase, ...args) {
      if (first) {
        first = false;
        this.close();
        throw new DOMException("the connection is closing", "InvalidStateError");
      }
      return real.apply(this, args);
    });
    await tab.log.append("case.taken", { seen: 1 }, { case: "c1" });
    expect(tab.log.caseOf("c1")?.entries).toHaveLength(2);
  });

  it("does not write twice when the connection is lost after the commit", async () => {
    const { phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    await tab.log.append("case.opened", OPENED, { case: "c1" });
    const real = IDBDatabase.prototype.transaction;
    let armed = true;
    vi.spyOn(IDBDatabase.prototype, "transaction").mockImplementation(function (this: IDBDatabase, ...args) {
      const tx = real.apply(this, args);
      if (armed && args[1] === "readwrite") {
        armed = false;
        // the transaction completes in the store, but the page is told that the connection has failed
        const listen = tx.addEventListener.bind(tx);
        tx.addEventListener = ((type: string, heard: (event: Event) => void) => {
          if (type === "complete") return;
          if (type === "error")
            listen("complete", () => {
              Object.defineProperty(tx, "error", { value: new DOMException("lost", "UnknownError") });
              heard(new Event("error"));
            });
          listen(type, heard);
        }) as typeof tx.addEventListener;
      }
      return tx;
    });
    const saved = await tab.log.append("case.taken", { seen: 1 }, { case: "c1" });
    expect(armed).toBe(false);
    vi.restoreAllMocks();
    const again = await phone.tab();
    expect(again.log.caseOf("c1")?.entries.map((entry) => entry.seq)).toEqual([saved.seq - 1, saved.seq]);
  });

  it("keeps one chain when two tabs write at once", async () => {
    const { phone, server, tab } = await enrolledPhone();
    openPhones.push(phone);
    const other = await phone.tab();
    await tab.log.append("case.opened", OPENED, { case: "c1" });
    const writes = Array.from({ length: 20 }, (_, i) =>
      (i % 2 ? tab : other).log.append(
        "comfort.noted",
        { score: i % 11, bothers: [], note: "" },
        { case: "c1" },
      ),
    );
    const saved = await Promise.all(writes);
    expect(new Set(saved.map(({ seq }) => seq)).size).toBe(20);
    await phone.pass(10_000);
    const lines = server.lines(tab.log.device.value?.id ?? "");
    expect(lines.map(({ seq }) => seq)).toEqual(lines.map((_, i) => i + 1));
    expect(tab.log.caseOf("c1")?.comfort).toHaveLength(20);
    expect(other.log.caseOf("c1")?.comfort).toHaveLength(20);
    expect(other.log.sync.value.waiting).toBe(0);
  });

  it("goes on from another tab's head where the browser has no locks", async () => {
    const { phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    const other = await phone.tab();
    for (const one of [tab, other]) one.env.lock = (_name, _ifFree, work) => work(true);
    const saved = await Promise.all(
      Array.from({ length: 8 }, (_, i) =>
        (i % 2 ? tab : other).log.append(
          "comfort.noted",
          { score: 1, bothers: [], note: "" },
          { case: "c1" },
        ),
      ),
    );
    expect(new Set(saved.map(({ seq }) => seq)).size).toBe(8);
  });
});

describe("the door", () => {
  it("exports what only this phone holds, as its own bytes", async () => {
    const { phone, server, tab } = await enrolledPhone();
    openPhones.push(phone);
    await phone.pass(5_000);
    server.reachable = false;
    await tab.log.append("case.opened", OPENED, { case: "c1" });
    await tab.log.append("case.closed", { outcome: "completed", note: "" }, { case: "c1" });
    const rows = (await (await tab.log.exportLines()).text()).trimEnd().split("\n");
    expect(rows.map((row) => readLine(row)?.envelope.type)).toEqual(["case.opened", "case.closed"]);
    server.reachable = true;
    await phone.pass(600_000);
    expect(
      server
        .lines(tab.log.device.value?.id ?? "")
        .map(({ raw }) => raw)
        .slice(-2),
    ).toEqual(rows);
    expect(await (await tab.log.exportLines()).text()).toBe("");
  });

  it("shows the same after a reload", async () => {
    const { phone, server, tab } = await enrolledPhone();
    openPhones.push(phone);
    server.reachable = false;
    await tab.log.append("case.opened", OPENED, { case: "c1", pack: "p1" });
    await tab.log.append("optic.chosen", { optic: "wide", reason: "" }, { case: "c1" });
    const before = tab.log.caseOf("c1");
    const waiting = tab.log.sync.value.waiting;
    tab.close();
    const after = await phone.tab();
    expect(after.log.caseOf("c1")).toEqual(before);
    expect(after.log.sync.value.waiting).toBe(waiting);
    expect(after.log.sync.value.oldestAt).not.toBeNull();
    expect(before?.entries.every((entry) => entry.pack === "p1")).toBe(true);
  });

  it("clears only what a final server has named and backed up, of old closed cases", async () => {
    const { phone, server, tab } = await enrolledPhone();
    openPhones.push(phone);
    const day = 86_400_000;
    await tab.log.append("case.opened", OPENED, { case: "old" });
    await tab.log.append("case.closed", { outcome: "completed", note: "" }, { case: "old" });
    await tab.log.append("case.opened", OPENED, { case: "open" });
    server.kind = "hub";
    await phone.pass(5_000);
    server.now = phone.wall + 40 * day;
    tab.log.syncNow();
    await phone.settle();
    expect(await tab.log.clearOld(phone.wall + 40 * day, 7)).toBe(0); // a hub's word is not enough
    expect(tab.log.caseOf("old")?.entries.map((e) => tab.log.placeOf(e.device, e.seq))).toEqual([
      "hub",
      "hub",
    ]);

    const second = await enrolledPhone();
    openPhones.push(second.phone);
    const log = second.tab.log;
    await log.append("case.opened", OPENED, { case: "old" });
    await log.append("case.closed", { outcome: "completed", note: "" }, { case: "old" });
    await log.append("case.opened", OPENED, { case: "open" });
    second.server.now = second.phone.wall;
    await second.phone.pass(5_000);
    expect(await log.clearOld(second.phone.wall + 40 * day, 7)).toBe(0); // only this phone's clock says so
    second.server.now = second.phone.wall + 40 * day;
    log.syncNow();
    await second.phone.settle();
    expect(await log.clearOld(second.phone.wall, 7)).toBe(0); // only the server's clock says so
    expect(await log.clearOld(second.phone.wall + 40 * day, 7)).toBe(0); // no backup holds them yet
    second.server.backUp();
    log.syncNow();
    await second.phone.settle();
    expect(await log.clearOld(second.phone.wall + 40 * day, 7)).toBe(2);
    expect(log.caseOf("old")).toBeUndefined();
    expect(log.caseOf("open")).toBeDefined();
    const saved = await log.append("case.taken", { seen: 1 }, { case: "open" });
    await second.phone.pass(5_000);
    expect(log.sync.value.waiting).toBe(0);
    const lines = second.server.lines(log.device.value?.id ?? "");
    expect(lines).toHaveLength(saved.seq);
    expect(envelopeText(lines[0]?.raw ?? "")).toContain("device.enrolled");
  });

  it("takes other devices' open cases in, and both tabs show them", async () => {
    const { phone, server, tab } = await enrolledPhone();
    openPhones.push(phone);
    const other = await phone.tab();
    await server.foreign("dev-b", 4, "cb", "case.opened", { ...OPENED, code: "B-7" }, 1);
    await server.foreign("dev-b", 5, "cb", "something.new", { x: 1 }, 2);
    await phone.pass(61_000);
    for (const one of [tab, other]) {
      expect(one.log.caseOf("cb")).toMatchObject({ code: "B-7", state: "open", heldBy: "dev-b" });
      expect(one.log.caseOf("cb")?.entries.map(({ known }) => known)).toEqual([true, false]);
    }
    expect(tab.log.sync.value.waiting).toBe(0);
  });
});
