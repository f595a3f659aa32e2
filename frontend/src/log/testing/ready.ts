/** An enrolled phone and its server, and what holds at the end of each test that asked for one: never two requests for
 * sync under way at once, and none without the lock. */
import { afterEach, expect } from "vitest";
import { FakeServer } from "./fakeServer";
import { Phone, type Tab } from "./phone";

const phones: Phone[] = [];
afterEach(async () => {
  for (const phone of phones.splice(0)) {
    await phone.closeAll();
    await phone.quiet();
    expect(phone.syncs).toMatchObject({ now: 0, most: 1, unlocked: 0 });
  }
});

export async function ready(): Promise<{ server: FakeServer; phone: Phone; tab: Tab; device: string }> {
  const server = new FakeServer();
  const phone = new Phone(server);
  phones.push(phone);
  const tab = await phone.tab();
  await tab.log.enrol("ABCD-2345", "Room 2");
  await phone.pass(5_000);
  return { server, phone, tab, device: tab.log.device.value?.id ?? "" };
}
