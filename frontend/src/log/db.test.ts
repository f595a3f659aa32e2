import { afterEach, describe, expect, it, vi } from "vitest";
import { Database } from "./db";
import { FakeServer } from "./testing/fakeServer";
import { enrolledPhone, OPENED, Phone } from "./testing/phone";

const openPhones: Phone[] = [];
afterEach(async () => {
  vi.restoreAllMocks();
  for (const phone of openPhones.splice(0)) await phone.closeAll();
});

describe("when the store is held by others", () => {
  const raw = (name: string, version: number): Promise<IDBDatabase> =>
    new Promise((resolve, reject) => {
      const request = indexedDB.open(name, version);
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });

  it("says so while another tab holds an older layout open, and goes on when it lets go", async () => {
    const old = await raw("held-1", 1);
    const said: boolean[] = [];
    const database = new Database((blocked) => said.push(blocked), "held-1", 2);
    const names = database.run(async (db) => db.name);
    await vi.waitFor(() => expect(said).toEqual([true]));
    old.close();
    expect(await names).toBe("held-1");
    await vi.waitFor(() => expect(said).toEqual([true, false]));
    database.close();
  });

  it("lets go when a newer app needs the store, and says that this tab is old", async () => {
    const { phone, tab } = await enrolledPhone();
    openPhones.push(phone);
    const newer = await raw(phone.database, 3);
    const failed = tab.log.append("case.opened", OPENED, { case: "c1" });
    await expect(failed).rejects.toMatchObject({ code: "newer_version" });
    expect(tab.log.failure.value?.what).toBe("newer_version");
    newer.close();
  });

  it("opens with a blocking failure, and not at all silently, where there is no store", async () => {
    vi.spyOn(indexedDB, "open").mockImplementation(() => {
      throw new DOMException("not here", "SecurityError");
    });
    const phone = new Phone(new FakeServer());
    openPhones.push(phone);
    const tab = await phone.tab();
    expect(tab.log.failure.value?.what).toBe("store_unavailable");
    expect(tab.log.cases.value).toEqual([]);
  });
});
