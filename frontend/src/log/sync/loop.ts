/** Drives the state machine: holds the one timer, makes one request at a time, stores the answer.
 *
 * The lock `chinrest-sync` is held for one round (read, ask, store) and by whichever tab has the round, not for a
 * tab's whole life: a tab in the background is slowed or frozen by the browser, and must not keep the one in the
 * hand from sending. Writing lines has its own lock, so nobody waits for the network to record something.
 *
 * Where an answer says plainly that all was taken, the next request leaves before it is stored, in the same round. */
import type { Fault, SyncAnswer } from "../../types.gen";
import type { Database, Meta, Row } from "../db";
import { type Env, fetchWithin, readBody } from "../env";
import { fromNumbers, minus, normal, size } from "../ranges";
import { faultOf, readFault } from "./fault";
import { type Ahead, Kept, type Outbox } from "./kept";
import { type Event, judge, type Model, START, step } from "./machine";
import type { SyncMemory } from "./memory";
import { backupBy, provenBy } from "./proof";
import { type Batch, batchOf, type Packed, pack } from "./request";
import { isAnswer, take } from "./take";

export const SYNC_LOCK = "chinrest-sync";
export const ANSWER_LIMIT_MS = 30_000;
const LEARN_AGAIN_MS = 600_000;
/** Requests follow each other in one round for so long; then another tab, or who unlocks the phone, has a turn. */
export const ROUND_MS = 5_000;

export interface LoopView {
  state: Model["state"];
  nextAt: number | null;
  fault: Fault | null;
}

export interface LoopEvents {
  /** After each change of the machine. */
  changed(view: LoopView): void;
  /** After an answer was stored: other devices' new lines, and whether the phone's own were taken. `memory`: as it stands
   * now, where that is all that has changed. */
  answered(answer: SyncAnswer, memory: SyncMemory | null, fresh: Row[]): Promise<void>;
}

/** The next batch's lines, read and packed. */
interface Ready {
  ahead: Ahead;
  packed: Packed;
}

type Answer = Awaited<ReturnType<typeof fetchWithin>>;

/** A request under way. */
interface Going {
  outbox: Outbox;
  batch: Batch;
  answer: Promise<Answer>;
}

interface Ended {
  event: Event;
  fault: Fault | null;
  leastMs: number;
}

/** Seconds or a date, as RFC 9110 section 10.2.3 has it. */
export function retryAfterMs(header: string | null, now: number): number {
  if (!header) return 0;
  const ms = /^\d+$/.test(header) ? Number(header) * 1000 : Date.parse(header) - now;
  return Number.isFinite(ms) ? Math.max(0, ms) : 0;
}

/** How far the exchange stands: a round that leaves this as it was has moved nothing. */
function place(memory: SyncMemory): string {
  return `${memory.epoch}/${memory.cursor}/${size(memory.held) + size(memory.refused)}`;
}

export class Loop {
  private model: Model = START;
  private off: (() => void) | null = null;
  private dueAt: number | null = null;
  private fault: Fault | null = null;
  private closed = false;
  private learnAt = 0;
  private readonly kept: Kept;
  /** Made while an answer is awaited. */
  private ready: Promise<Ready | null> | null = null;
  /** Ends, and never fails, when the latest request does. */
  private flight: Promise<unknown> = Promise.resolve();
  /** By `mono`; no request follows in the round under way after that. */
  private roundEnds = 0;
  /** The round under way, for tests and for an orderly end. */
  running: Promise<void> | null = null;

  constructor(
    private readonly env: Env,
    private readonly database: Database,
    private readonly events: LoopEvents,
    shut: SyncMemory["shut"] = null,
  ) {
    this.kept = new Kept(database);
    if (shut) this.model = { ...START, state: shut };
  }

  get view(): LoopView {
    return { state: this.model.state, nextAt: this.dueAt, fault: this.fault };
  }

  /** `goesOn`: what is to be sent next is under way already. */
  tell(event: Event, leastMs = 0, goesOn = false): void {
    if (this.closed) return;
    if (event === "enrolled") this.roundEnds = 0; // what is read by now goes by the token of before
    const { model, order } = step(this.model, event, this.env.random(), leastMs);
    this.model = model;
    if (order.do === "timer") this.setTimer(order.ms, order.unlessSooner);
    if (order.do === "send") {
      this.setTimer(null, false);
      if (!goesOn) this.running = this.round();
    }
    this.events.changed(this.view);
  }

  close(): void {
    this.closed = true;
    this.off?.();
    this.off = null;
  }

  private setTimer(ms: number | null, unlessSooner: boolean): void {
    const at = ms === null ? null : this.env.now() + ms;
    if (unlessSooner && this.off && this.dueAt !== null && at !== null && this.dueAt <= at) return;
    this.off?.();
    this.dueAt = at;
    this.off =
      ms === null
        ? null
        : this.env.timer(ms, () => {
            this.off = null;
            this.dueAt = null;
            this.tell("due");
          });
  }

  private async round(): Promise<void> {
    const ended = await this.talk();
    if (ended.event !== "more") this.ready = null; // not next, or not soon
    this.end(ended);
  }

  private end({ event, fault, leastMs }: Ended, goesOn = false): void {
    if (this.closed) return;
    this.fault = event === "busy" ? this.fault : fault;
    this.tell(event, leastMs, goesOn);
  }

  private async talk(): Promise<Ended> {
    try {
      return await this.env.lock(SYNC_LOCK, true, async (held): Promise<Ended> => {
        if (!held) return { event: "busy", fault: null, leastMs: 0 };
        try {
          return await this.exchange();
        } finally {
          await this.flight; // an answer that is not stored in its turn is not stored: its lines are offered again
        }
      });
    } catch (error) {
      // Whatever breaks in here is said on the screen and tried again; the lines are still on the phone.
      const why = error instanceof Error ? error.message : String(error);
      return { event: "failed", fault: faultOf("sync_failed", "phone", why), leastMs: 0 };
    }
  }

  private async exchange(): Promise<Ended> {
    this.roundEnds = this.env.mono() + ROUND_MS;
    const ready = await this.ready;
    this.ready = null;
    const outbox = await this.kept.outbox(this.model.limitBytes, [], ready?.ahead);
    if (!outbox)
      return { event: "shut_unknown", fault: faultOf("not_enrolled", "phone", "not enrolled"), leastMs: 0 };
    const packed = ready?.ahead.rows === outbox.rows ? ready?.packed : undefined;
    let going = await this.send(outbox, packed);
    this.prepare(outbox);
    for (;;) {
      const { ended, next } = await this.hear(going);
      if (!next || ended.event !== "more" || this.closed) return ended;
      this.end(ended, true);
      going = next;
    }
  }

  private async send(outbox: Outbox, packed?: Packed): Promise<Going> {
    const batch = await batchOf(outbox, this.env.now(), outbox.sync.takesShort, packed);
    return { outbox, batch, answer: this.ask(batch) };
  }

  /** Waits for the answer and stores it; what follows is under way by then. */
  private async hear({ outbox, batch, answer: asked }: Going): Promise<{ ended: Ended; next?: Going }> {
    let answer: Answer;
    try {
      answer = await asked;
      if (batch.short && answer.status === 400) {
        // a line of them is not as it was when it was chained, or the server is an older one: either is told of whole
        // lines
        batch = await batchOf(outbox, this.env.now(), false);
        answer = await this.ask(batch);
      }
    } catch (error) {
      const late =
        error instanceof DOMException && (error.name === "TimeoutError" || error.name === "AbortError");
      const ended: Ended = late
        ? {
            event: "late",
            fault: faultOf("no_answer", "network", "the server did not answer in time"),
            leastMs: 0,
          }
        : {
            event: "failed",
            fault: faultOf("no_network", "network", "the server can't be reached"),
            leastMs: 0,
          };
      return { ended };
    }
    if (answer.status !== 200 && answer.status !== 201) {
      return { ended: await this.refusedAs(answer, outbox.rows.length) };
    }
    const said = readBody(answer.body).value;
    if (!isAnswer(said)) {
      const why =
        "something answered that is not the clinic's server (a sign-in page of the network, perhaps)";
      return { ended: { event: "failed", fault: faultOf("not_an_answer", "server", why), leastMs: 0 } };
    }
    const next = await this.follow(said, batch, outbox);
    if (next) this.prepare(next.outbox, outbox.rows);
    const { ended, sync } = await this.keep(said, batch, outbox);
    return next ? { ended, next: { ...next, outbox: { ...next.outbox, sync } } } : { ended };
  }

  /** Sends what comes next, where the answer says plainly that all of this batch was taken and nothing else. */
  private async follow(said: SyncAnswer, batch: Batch, { sync }: Outbox): Promise<Going | undefined> {
    const plain =
      said.taken === batch.headSha256 &&
      said.takes_short === true &&
      said.server === sync.server &&
      said.epoch === sync.epoch &&
      said.cursor >= (sync.cursor ?? 0) &&
      said.lines.length + said.pulled.length === 0 &&
      !said.more &&
      minus(sync.held, normal(said.holds)).length === 0;
    const ready = plain ? await this.ready : null;
    if (!ready || ready.ahead.hiding !== this.database.hiding) return;
    if (this.closed || this.env.mono() >= this.roundEnds) return;
    this.ready = null;
    const { ahead, packed } = ready;
    const outbox = { ...ahead, sync: { ...sync, cursor: said.cursor } };
    return this.send(outbox, packed).catch(() => undefined); // made again in its turn, and what is wrong is said then
  }

  private ask({ headers, body }: Batch): Promise<Answer> {
    const asked: RequestInit = { method: "POST", headers, body, cache: "no-store", credentials: "omit" };
    const answer = fetchWithin(this.env, ANSWER_LIMIT_MS, "/api/sync", asked);
    this.flight = answer.catch(() => undefined); // whoever awaits the answer hears of it
    return answer;
  }

  /** What comes after this batch, if all of it is taken: so much as then goes into one. `before`: lines that were taken and
   * are not stored as such yet. */
  private prepare({ rows, sync, waiting }: Outbox, before: Outbox["rows"] = []): void {
    if (waiting > rows.length) this.ready = this.readied([...before, ...rows], sync);
  }

  private async readied(rows: Outbox["rows"], sync: SyncMemory): Promise<Ready | null> {
    try {
      const sent = fromNumbers(rows.map(({ seq }) => seq));
      const { limitBytes } = step(this.model, "more", 0).model;
      const ahead = await this.kept.ahead(limitBytes, sent);
      return ahead && { ahead, packed: await pack(ahead, ahead.keys, sync.takesShort) };
    } catch {
      return null; // it is read again when its turn comes, and what is wrong is said then
    }
  }

  /** A phone that does not know for whom to seal lines that go by file asks now and then, while it has the server. */
  private async learnKey(device: Meta["device"]): Promise<void> {
    const now = this.env.now();
    if (now < this.learnAt) return;
    this.learnAt = now + LEARN_AGAIN_MS;
    try {
      const { learnKey } = await import("../carry/key");
      await learnKey(this.env, this.database, device);
    } catch {
      // the answer is stored, and that is what counts: asked again later
    }
  }

  /** The batch as a whole was not taken. */
  private async refusedAs(
    { status, headers, body }: { status: number; headers: Headers; body: ArrayBuffer },
    lines: number,
  ): Promise<Ended> {
    const fault = readFault(status, body);
    const leastMs = retryAfterMs(headers.get("Retry-After"), this.env.now());
    if (status === 403 && fault.code === "device_withdrawn") {
      await this.kept.shut("withdrawn");
      return { event: "shut_withdrawn", fault, leastMs };
    }
    if (status === 401) {
      await this.kept.shut("unknown");
      return { event: "shut_unknown", fault, leastMs };
    }
    if (status === 413 && lines > 1) return { event: "oversize", fault, leastMs };
    if (status === 426) return { event: "too_old", fault, leastMs };
    return { event: "failed", fault, leastMs };
  }

  private async keep(
    answer: SyncAnswer,
    { headSha256 }: Batch,
    { device, sync, rows, sealed, waiting }: Outbox,
  ): Promise<{ ended: Ended; sync: SyncMemory }> {
    const last = sealed ? undefined : rows.at(-1); // most often the line that is asked for, and here already
    const rawAt = (seq: number): Promise<string | null> =>
      last?.seq === seq ? Promise.resolve(last.raw) : this.kept.raw(device.id, seq);
    const [proven, backup] = await Promise.all([
      provenBy(answer, device, rawAt),
      backupBy(sync.backup, answer, device, rawAt),
    ]);
    const { taken, fresh, before } = await this.kept.answer(answer.pulled, (memory) =>
      take(memory, device.id, { rows, headSha256 }, answer, this.env.now(), proven, backup),
    );
    const { memory, fault, refused, forgetRefused } = taken;
    // what waited beyond this batch still does, so it need not be counted
    const more = answer.more || waiting > rows.length;
    const [left] = await Promise.all([
      more || this.kept.waiting().then((lines) => lines > 0),
      this.events.answered(answer, forgetRefused || refused.length > 0 ? null : memory, fresh),
      sealed || this.learnKey(device), // a locked phone is told no key
    ]);
    const event = judge(this.model, place(before), place(memory), left);
    return { ended: { event, fault, leastMs: 0 }, sync: memory };
  }
}
