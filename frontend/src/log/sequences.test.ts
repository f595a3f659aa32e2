/** Random days: writes, lost links, lost answers, errors, reloads, two tabs, clocks that jump, a server set back, files
 * that are carried and answers that come back, PINs that are set, tabs that are locked and unlocked, in any order and
 * more than once; some of it while a request is under way. On half of the days a batch holds a few lines only, so that
 * one request follows the other.
 * Whatever happens, every line that was saved is on the server exactly once when the link is back, byte for byte.
 * A failing run prints its seed; `SOAK=5000 npx vitest run src/log/sequences.test.ts` looks longer. */
import fc from "fast-check";
import { expect, it, vi } from "vitest";
import { BATCH_BYTES, FIRST_BATCH_BYTES, START } from "./sync/machine";
import { EXAMPLES, type Step, step } from "./testing/days";
import { FakeServer, type Mischief } from "./testing/fakeServer";
import { OPENED, Phone, type Tab } from "./testing/phone";

const RUNS = Number((import.meta.env.SOAK as string | undefined) ?? 30);

interface World {
  server: FakeServer;
  phone: Phone;
  tabs: (Tab | null)[];
  device: string;
  /** Sequence and id of every line whose saving was confirmed. */
  saved: Map<number, string>;
  snapshot: ReturnType<FakeServer["snapshot"]>;
  /** By which tokens phones were known then. */
  tokens: ReturnType<FakeServer["desk"]["copy"]>;
  restored: boolean;
  /** Files that were made to be carried, and the server's answers to such. */
  files: string[];
  answers: string[];
  /** Lines that an opened answer settled. */
  settled: number;
  /** What was begun while a request was under way, and tabs that were closed then. */
  meanwhile: Promise<void>[];
  cut: Set<Tab>;
  /** Lines whose saving is not confirmed yet: no tab is closed meanwhile, or nobody knew whether they stand. */
  writing: Set<Promise<unknown>>;
}

const [NAME, PIN] = ["AB", "246813"];

async function begin(small: boolean): Promise<World> {
  START.limitBytes = small ? 2_000 : FIRST_BATCH_BYTES; // some three lines
  START.ceilingBytes = small ? 2_000 : BATCH_BYTES;
  const server = new FakeServer();
  const phone = new Phone(server);
  const tab = await phone.tab();
  await tab.log.enrol("ABCD-2345", "Room 2");
  await phone.settle();
  await tab.log.append("case.opened", OPENED, { case: "c1" });
  await phone.settle();
  const device = tab.log.device.value?.id ?? "";
  const opened = tab.log.caseOf("c1")?.entries[0];
  const saved = new Map([[opened?.seq ?? 0, opened?.line ?? ""]]);
  const tokens = server.desk.copy();
  const kept = { snapshot: server.snapshot(), tokens, restored: false };
  const none = {
    files: [],
    answers: [],
    settled: 0,
    meanwhile: [],
    cut: new Set<Tab>(),
    writing: new Set<Promise<unknown>>(),
  };
  return { server, phone, tabs: [tab, null], device, saved, ...kept, ...none };
}

async function write(world: World, tab: Tab, score: number): Promise<void> {
  const writing = tab.log.append("comfort.noted", { score, bothers: [], note: "" }, { case: "c1" });
  world.writing.add(writing);
  const { seq, id } = await writing.finally(() => world.writing.delete(writing));
  expect(world.saved.has(seq), "no two lines have one sequence").toBe(false);
  world.saved.set(seq, id);
}

const fine = (times: number): Mischief[] => Array.from({ length: times }, () => ({ kind: "fine" }));

async function take(world: World, step: Step): Promise<void> {
  const { server, phone } = world;
  const at = "tab" in step ? step.tab : 0;
  const tab = world.tabs[at] ?? world.tabs[1 - at];
  if (!tab) throw new Error("there is always a tab");
  switch (step.do) {
    case "write":
      for (let i = 0; i < step.many; i++) await write(world, tab, i);
      return;
    case "write_both":
      await Promise.all(
        world.tabs.flatMap((one) => (one ? [write(world, one, 1), write(world, one, 2)] : [])),
      );
      return;
    case "link":
      server.reachable = step.up;
      return;
    case "mischief":
      server.mischief.push(...fine(step.after), step.what);
      return;
    case "meanwhile":
      server.mischief.push(...fine(step.after), {
        kind: "meanwhile",
        work: () => world.meanwhile.push(begun(world, step.what)),
      });
      return;
    case "pass":
      return phone.pass(step.ms);
    case "reload":
      await written(world);
      tab.close(); // whatever else is under way is cut off
      world.tabs[world.tabs.indexOf(tab)] = await phone.tab();
      return;
    case "tab":
      if (world.tabs[at]) {
        await written(world);
        if (!world.tabs[1 - at]) return;
        world.tabs[at]?.close();
        world.tabs[at] = null;
      } else world.tabs[at] = await phone.tab();
      return;
    case "jump":
      phone.wall = Math.max(0, phone.wall + step.ms);
      return;
    case "ask":
      tab.log.syncNow();
      return;
    case "back":
      tab.comesBack(step.thawed);
      return;
    case "file": {
      const made = await (await tab.log.carrying()).make();
      if (made.ok) world.files.push(made.text);
      return;
    }
    case "carry": {
      const file = world.files[step.which % Math.max(1, world.files.length)];
      server.now += 1;
      if (file) world.answers.push(await server.carrying.take(file));
      return;
    }
    case "open": {
      const answer = world.answers[step.which % Math.max(1, world.answers.length)];
      if (!answer) return;
      const opened = await (await tab.log.carrying()).open(answer);
      if (!opened.ok) expect(opened.fault.code).toBe("outdated");
      else world.settled += opened.settled;
      return;
    }
    case "pin":
    case "lock":
    case "unlock": {
      const lock = await tab.log.lock();
      if (tab.log.lockView.peek().state === "open") {
        if (step.do === "pin") await lock.setFirst(NAME, PIN); // refused where the server can't be reached
      } else if (step.do === "lock") await lock.lock();
      else await lock.unlock(NAME, PIN);
      return;
    }
    case "told":
      // the phone tells the server its tokens beside what else it does
      await vi.waitFor(
        async () => {
          await phone.pass(1_000);
          expect(server.desk.send.has(world.device)).toBe(true);
        },
        { timeout: 20_000 },
      );
      return phone.settle();
    case "snapshot":
      world.snapshot = server.snapshot();
      world.tokens = server.desk.copy();
      return;
    case "restore":
      world.restored = true;
      server.now += 1;
      server.restore(world.snapshot, step.sameEpoch);
      server.desk.put(world.tokens);
      return;
  }
}

async function written({ writing }: World): Promise<void> {
  while (writing.size > 0) await Promise.allSettled(writing);
}

async function begun(world: World, what: (Step & { do: "meanwhile" })["what"]): Promise<void> {
  const tabs = [...world.tabs];
  if (what === "close") {
    if (world.writing.size > 0) return;
    for (const tab of tabs.slice(0, 1)) {
      tab?.close();
      if (tab) world.cut.add(tab);
    }
    return;
  }
  const steps = {
    write: { do: "write_both" },
    lock: { do: "lock", tab: 0 },
    restore: { do: "restore", sameEpoch: false },
  } as const;
  try {
    await take(world, steps[what]);
  } catch (error) {
    // what is asked of a page that is closed meanwhile is not confirmed
    if (world.cut.size === 0 && world.tabs.every((tab, i) => tab === tabs[i])) throw error;
  }
}

/** A step, and what began with it. */
async function whole(world: World, step: Step): Promise<void> {
  try {
    await take(world, step);
  } catch (error) {
    if (world.cut.size === 0) throw error;
  }
  await over(world);
}

async function over(world: World): Promise<void> {
  while (world.meanwhile.length > 0) await Promise.all(world.meanwhile.splice(0));
  const cut = [...world.cut];
  world.cut.clear();
  for (const tab of cut) {
    const at = world.tabs.indexOf(tab);
    if (at >= 0) world.tabs[at] = await world.phone.tab();
  }
}

async function atLast(world: World): Promise<void> {
  const { server, phone, tabs, device, saved } = world;
  await phone.settle();
  server.reachable = true;
  server.mischief.length = 0;
  await over(world);
  for (const tab of tabs) tab?.comesBack();
  for (let i = 0; i < 8; i++) await phone.pass(300_000);
  for (const tab of tabs) {
    if (tab?.log.lockView.peek().state !== "locked") continue;
    expect(await (await tab.log.lock()).unlock(NAME, PIN)).toMatchObject({ ok: true });
  }
  // whoever unlocks tells a server that was set back the phone's tokens first, which takes as long as keys are made
  await vi.waitFor(
    async () => {
      await phone.pass(300_000);
      for (const tab of tabs)
        if (tab) expect(tab.log.sync.value).toMatchObject({ waiting: 0, state: "idle" });
      // what the server lost a phone knows only once it was answered
      const there = new Set(server.lines(device).map(({ id }) => id));
      for (const id of saved.values()) expect(there).toContain(id);
    },
    { timeout: 20_000, interval: 200 },
  );

  const there = server.lines(device);
  expect(
    there.map(({ seq }) => seq),
    "every sequence once, without gaps",
  ).toEqual(there.map((_, i) => i + 1));
  for (const [seq, id] of saved) expect(there[seq - 1]?.id, `line ${seq}`).toBe(id);
  for (const tab of tabs) {
    if (!tab) continue;
    expect(tab.log.failure.value).toBeNull();
    expect(tab.log.sync.value).toMatchObject({ waiting: 0, oldestAt: null, refused: [], state: "idle" });
    // nothing counted as acknowledged that no answer had named: such a line would be offered again
    if (!world.restored) expect(tab.log.sync.value.offeredAgain).toBe(0);
    const shown = tab.log.caseOf("c1")?.entries.map(({ seq, line }) => `${seq} ${line}`);
    expect(new Set(shown), "this tab shows each line once").toEqual(
      new Set([...saved].map(([seq, id]) => `${seq} ${id}`)),
    );
    expect(shown).toHaveLength(saved.size);
    for (const { seq } of there) expect(tab.log.placeOf(device, seq)).toBe("server");
    expect(await (await tab.log.exportLines()).text()).toBe("");
  }
  // no storm: at most one request a tap or trigger, and the back-off's own
  expect(server.requests.length).toBeLessThan(1_000);
  await phone.quiet();
  expect(phone.syncs).toMatchObject({ now: 0, most: 1, unlocked: 0 });
}

it("brings every saved line to the server exactly once, whatever happens", { timeout: 600_000 }, async () => {
  let writes = 0;
  let restores = 0;
  let settled = 0;
  let byBoth = 0; // days on which both of a phone's tokens were used
  let locked = 0;
  let inARow = 0; // days on which a request left before the answer to the one before was stored
  await fc.assert(
    fc.asyncProperty(fc.array(step, { minLength: 5, maxLength: 40 }), fc.boolean(), async (steps, small) => {
      const world = await begin(small);
      try {
        for (const one of steps) {
          await whole(world, one);
          restores += one.do === "restore" ? 1 : 0;
          locked += world.tabs.some((tab) => tab?.log.lockView.peek().state === "locked") ? 1 : 0;
        }
        await atLast(world);
        writes += world.saved.size;
        byBoth += new Set(world.server.bySendOnly).size > 1 ? 1 : 0;
        settled += world.settled;
        inARow += world.phone.syncs.ahead > 0 ? 1 : 0;
      } finally {
        world.server.mischief.length = 0;
        await world.phone.closeAll();
      }
    }),
    { numRuns: RUNS, endOnFailure: false, examples: EXAMPLES },
  );
  // the runs have really held what they are meant to
  expect(byBoth).toBeGreaterThan(0);
  expect(writes).toBeGreaterThan(RUNS * 5);
  expect(restores).toBeGreaterThan(0);
  expect(settled).toBeGreaterThan(0);
  expect(locked).toBeGreaterThan(0);
  expect(inARow).toBeGreaterThan(0);
  if (RUNS > 30) console.log("in a row on", inARow, "of", RUNS);
});
