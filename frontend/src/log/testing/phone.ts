/** A phone for tests: the real log over a fake IndexedDB, with a clock and timers that the test moves. */
import "fake-indexeddb/auto";
// read in already, so that settling never waits for a file
import "../enrol";
import "../sync/loop";
import { browserEnv, type Env } from "../env";
import { openLog } from "../open";
import { SYNC_LOCK } from "../sync/loop";
import type { Log } from "../types";
import { FakeServer } from "./fakeServer";

let phones = 0;

interface Timer {
  at: number;
  work: () => void;
}

/** What is common to all tabs of one phone: store, clock, network. */
export class Phone {
  readonly database = `phone-${phones++}`;
  wall = 1_790_000_000_000;
  uptime = 0;
  /** Syncs under way, the most of them at once, those under way without the lock, and those that followed an answer in
   * the same round. */
  readonly syncs = { now: 0, most: 0, unlocked: 0, ahead: 0 };
  private timers = new Set<Timer>();
  private readonly tabs = new Set<Tab>();

  constructor(readonly server: FakeServer) {}

  async tab(): Promise<Tab> {
    const tab = new Tab(this);
    tab.log = await openLog(tab.env, this.database);
    this.tabs.add(tab);
    return tab;
  }

  timer(ms: number, work: () => void): () => void {
    const timer = { at: this.uptime + ms, work };
    this.timers.add(timer);
    return () => this.timers.delete(timer);
  }

  /** Time passes while nothing else does. */
  skip(ms: number): void {
    this.wall += ms;
    this.uptime += ms;
  }

  /** Lets time pass; timers go off in their order. The wall clock goes with it. */
  async pass(ms: number): Promise<void> {
    const until = this.uptime + ms;
    for (;;) {
      const due = [...this.timers].filter((timer) => timer.at <= until).sort((a, b) => a.at - b.at)[0];
      if (!due) break;
      this.wall += due.at - this.uptime;
      this.uptime = due.at;
      this.timers.delete(due);
      due.work();
      await this.settle();
    }
    this.wall += until - this.uptime;
    this.uptime = until;
    await this.settle();
  }

  /** Until nothing is under way but what only time can end, and all tabs have heard each other. */
  async settle(): Promise<void> {
    for (let calm = 0; calm < 10; ) {
      await new Promise((resolve) => setTimeout(resolve, 0));
      const busy = [...this.tabs].reduce((sum, tab) => sum + tab.busy, 0);
      calm = busy > this.server.hanging ? 0 : calm + 1;
    }
  }

  async closeAll(): Promise<void> {
    for (const tab of this.tabs) tab.close();
    await this.settle();
  }

  /** Until no sync is under way, those of closed tabs included. Where one hangs, only time ends it. */
  async quiet(): Promise<void> {
    do await this.settle();
    while (this.syncs.now > this.server.hanging);
  }

  forget(tab: Tab): void {
    this.tabs.delete(tab);
  }
}

export class Tab {
  log!: Log;
  /** Locks held: appends, enrolments and rounds of the exchange under way. */
  busy = 0;
  readonly env: Env;
  /** While the exchange's lock is held here. */
  private round: { answered: boolean } | null = null;
  private back: ((thawed: boolean) => void)[] = [];

  constructor(private readonly phone: Phone) {
    const real = browserEnv(phone.database);
    this.env = {
      ...real,
      now: () => phone.wall,
      mono: () => phone.uptime,
      random: () => 0.5,
      pinRounds: 10,
      timer: (ms, work) => phone.timer(ms, work),
      fetch: (path, init) => (path === "/api/sync" ? this.sync(path, init) : phone.server.fetch(path, init)),
      lock: (name, ifFree, work) =>
        real.lock(`${phone.database}/${name}`, ifFree, async (held) => {
          this.busy += 1;
          if (held && name === SYNC_LOCK) this.round = { answered: false };
          try {
            return await work(held);
          } finally {
            this.busy -= 1;
            if (held && name === SYNC_LOCK) this.round = null;
          }
        }),
      onReturn: (work) => {
        this.back.push(work);
        return () => {
          this.back = this.back.filter((one) => one !== work);
        };
      },
    };
  }

  private async sync(path: string, init: RequestInit): Promise<Response> {
    const { syncs, server } = this.phone;
    const { round } = this;
    if (round?.answered) syncs.ahead += 1;
    syncs.now += 1;
    syncs.most = Math.max(syncs.most, syncs.now);
    try {
      const answer = await server.fetch(path, init);
      if (round && answer.status === 200) round.answered = true;
      return answer;
    } finally {
      syncs.now -= 1;
      if (!round || round !== this.round) syncs.unlocked += 1;
    }
  }

  comesBack(thawed = false): void {
    for (const work of this.back) work(thawed);
  }

  close(): void {
    this.log.close();
    this.phone.forget(this);
  }
}

export { OPENED } from "./bodies";

/** A phone that is enrolled, with one tab. */
export async function enrolledPhone(
  server = new FakeServer(),
): Promise<{ server: FakeServer; phone: Phone; tab: Tab }> {
  const phone = new Phone(server);
  const tab = await phone.tab();
  const result = await tab.log.enrol("abcd 2345", "Room 2");
  if (!result.ok) throw new Error(result.fault.why);
  await phone.settle();
  return { server, phone, tab };
}
