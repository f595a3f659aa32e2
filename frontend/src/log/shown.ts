/** What the screens see: signals over what is in the store. Changed only after a transaction has completed. */
import { type Signal, signal } from "@preact/signals";
import type { CaseState } from "./case";
import type { Meta, Row } from "./db";
import { foldCase } from "./fold";
import { type Line, readLine } from "./line";
import { has } from "./ranges";
import type { Everything } from "./store";
import type { LoopView } from "./sync/loop";
import { NO_MEMORY, type SyncMemory, settledOf } from "./sync/memory";
import type { Device, Failure, Place, RefusedLine, StorageView, SyncView } from "./types";

const NEVER: SyncView = {
  state: "off",
  waiting: 0,
  oldestAt: null,
  lastHeardAt: null,
  nextAt: null,
  refused: [],
  withdrawn: false,
  offeredAgain: 0,
  clockOffsetMs: null,
  fault: null,
  serverApp: null,
  unreadable: 0,
  unopened: 0,
};

function placeIn({ device, seq }: Row): [string, number] {
  return [device, seq];
}

export class Shown {
  readonly device: Signal<Device | null> = signal(null);
  readonly cases: Signal<CaseState[]> = signal([]);
  readonly sync: Signal<SyncView> = signal(NEVER);
  readonly storage: Signal<StorageView> = signal({ answer: null, usage: null, quota: null });
  readonly failure: Signal<Failure | null> = signal(null);

  private own: string | null = null;
  private memory: SyncMemory = NO_MEMORY;
  private refused: RefusedLine[] = [];
  private loop: LoopView = { state: "idle", nextAt: null, fault: null };
  /** The lines of each case, by place in their chains, and each case folded. */
  private readonly lines = new Map<string, Map<string, Line>>();
  private readonly folded = new Map<string, CaseState>();
  /** Wall times of own lines that are neither acknowledged nor refused, by sequence. */
  private readonly unsent = new Map<number, number>();
  private readonly notes = new Set<[string, number][]>();
  /** Lines that can't be read now. */
  private hidden: Everything["hidden"] = [];
  /** What is known of the case in hand on a locked phone, made anew at each call. */
  private known: (() => CaseState) | null = null;

  /** Takes everything anew: at the start, and after a stay in the page cache. */
  load(all: Everything, known: (() => CaseState) | null = null): void {
    this.lines.clear();
    this.folded.clear();
    this.unsent.clear();
    this.setDevice(all.device);
    this.storage.value = { ...this.storage.peek(), answer: all.storage?.answer ?? null };
    this.memory = all.sync;
    this.hidden = all.hidden;
    this.countHidden(settledOf(all.sync));
    this.known = known;
    this.add(all.lines);
    if (known) this.fold(new Set([known().id]));
    else if (this.folded.size === 0) this.cases.value = [];
    this.setSync(all.sync, all.refused);
  }

  setDevice(device: Meta["device"] | null): void {
    this.own = device?.id ?? null;
    if (!device) {
      this.device.value = null;
      return;
    }
    const { token: _secret, full: _hidden, former: _too, ...shown } = device;
    this.device.value = shown;
  }

  /** Lines that now stand in the store. Those seen before change nothing. */
  add(rows: readonly Row[]): void {
    const touched = new Set<string>();
    const settled = settledOf(this.memory);
    for (const row of rows) {
      const line = readLine(row.raw);
      if (!line) continue; // written by us or placed by `rowOf`: both have read it once
      if (row.device === this.own && !has(settled, row.seq)) this.unsent.set(row.seq, line.envelope.at);
      if (row.case === null) continue;
      const here = this.lines.get(row.case) ?? new Map<string, Line>();
      here.set(`${row.device}/${row.seq}`, line);
      this.lines.set(row.case, here);
      touched.add(row.case);
    }
    this.fold(touched);
    this.show();
    for (const places of this.notes) places.push(...rows.map(placeIn));
  }

  /** Notes the places of what is added from now on; `stop` gives them. */
  noteAdded(): { stop(): [string, number][] } {
    const places: [string, number][] = [];
    this.notes.add(places);
    return {
      stop: () => {
        this.notes.delete(places);
        return places;
      },
    };
  }

  /** Lines that were cleared from the store. */
  remove(rows: readonly { case: string | null; device: string; seq: number }[]): void {
    const touched = new Set<string>();
    for (const { case: of, device, seq } of rows) {
      if (of === null) continue;
      this.lines.get(of)?.delete(`${device}/${seq}`);
      touched.add(of);
    }
    this.fold(touched);
  }

  setSync(memory: SyncMemory, refused: readonly RefusedLine[] = this.refused): void {
    const again = memory.offeredAgain > this.memory.offeredAgain;
    this.memory = memory;
    this.refused = [...refused].sort((a, b) => a.seq - b.seq);
    const settled = settledOf(memory);
    for (const seq of [...this.unsent.keys()]) {
      if (has(settled, seq)) this.unsent.delete(seq);
    }
    if (again) this.recount(settled);
    this.show();
  }

  setLoop(view: LoopView): void {
    this.loop = view;
    this.show();
  }

  caseOf(id: string): CaseState | undefined {
    return this.folded.get(id);
  }

  placeOf(device: string, seq: number): Place {
    void this.sync.value; // whoever shows a place is drawn again when it changes
    if (device !== this.own) return "server";
    if (has(this.memory.refused, seq)) return "refused";
    if (has(this.memory.final, seq) || has(this.memory.carried, seq)) return "server";
    return has(this.memory.held, seq) ? "hub" : "phone";
  }

  /** For clearing: the lines of a case with their places. */
  linesOf(id: string): { device: string; seq: number; case: string | null; at: number }[] {
    return [...(this.lines.get(id)?.values() ?? [])].map(({ envelope }) => ({
      device: envelope.device,
      seq: envelope.seq,
      case: envelope.case,
      at: envelope.at,
    }));
  }

  get syncMemory(): SyncMemory {
    return this.memory;
  }

  private countHidden(settled: SyncMemory["held"]): void {
    for (const { device, seq, at } of this.hidden) {
      if (device === this.own && !has(settled, seq)) this.unsent.set(seq, at);
    }
  }

  /** Lines that had been acknowledged wait again: the server was set back. */
  private recount(settled: SyncMemory["held"]): void {
    this.countHidden(settled);
    for (const here of this.lines.values()) {
      for (const { envelope } of here.values()) {
        if (envelope.device === this.own && !has(settled, envelope.seq)) {
          this.unsent.set(envelope.seq, envelope.at);
        }
      }
    }
  }

  private fold(touched: ReadonlySet<string>): void {
    if (touched.size === 0) return;
    for (const id of touched) {
      const known = this.known?.() ?? null;
      const state = foldCase(this.lines.get(id)?.values() ?? [], known?.id === id ? known : null);
      if (state) this.folded.set(id, state);
      else {
        this.folded.delete(id);
        this.lines.delete(id);
      }
    }
    this.cases.value = [...this.folded.values()].sort(
      (a, b) => b.openedAt - a.openedAt || (a.id < b.id ? 1 : -1),
    );
  }

  private show(): void {
    const { memory, loop } = this;
    let first = Number.POSITIVE_INFINITY;
    for (const seq of this.unsent.keys()) first = Math.min(first, seq);
    this.sync.value = {
      state: this.own === null ? "off" : loop.state,
      waiting: this.unsent.size,
      oldestAt: this.unsent.get(first) ?? null,
      lastHeardAt: memory.heardAt,
      nextAt: loop.nextAt,
      refused: this.refused,
      withdrawn: loop.state === "withdrawn",
      offeredAgain: memory.offeredAgain,
      clockOffsetMs: memory.clockOffsetMs,
      fault: loop.fault,
      serverApp: memory.serverApp,
      unreadable: memory.unreadable,
      unopened: this.hidden.length,
    };
  }
}
