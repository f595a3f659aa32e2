/** Lines by file: makes the file of what waits, and takes the server's answer in. */
import { sha256 } from "../bytes";
import type { Database, Meta, Row } from "../db";
import type { Env } from "../env";
import { envelopeText } from "../line";
import { type Ranges, size } from "../ranges";
import { faultOf } from "../sync/fault";
import { Kept } from "../sync/kept";
import { type CarriedNote, NO_MEMORY, type SyncMemory } from "../sync/memory";
import { backedUpAfter, provenUpTo } from "../sync/proof";
import { inTransaction } from "../tx";
import type { Carrying, Outcome } from "../types";
import { makeFile } from "./file";
import { finalKeyOf, keyOf, learnKey } from "./key";
import { kindOf, readReceipts, settle } from "./receipts";

/** So many files are remembered: an answer to an older one is no longer taken, and its lines are sent again. */
const FILES_KEPT = 50;

function no(code: string, why: string): { ok: false; fault: ReturnType<typeof faultOf> } {
  return { ok: false, fault: faultOf(code, "file", why) };
}

class FileCarrying implements Carrying {
  private readonly kept: Kept;

  constructor(
    private readonly env: Env,
    private readonly database: Database,
    private readonly changed: () => Promise<void>,
  ) {
    this.kept = new Kept(database);
  }

  private async device(): Promise<Meta["device"] | null> {
    return (
      ((await this.database.run((db) => db.get("meta", "device"))) as Meta["device"] | undefined) ?? null
    );
  }

  private async memory(): Promise<SyncMemory> {
    return { ...NO_MEMORY, ...(await this.database.run((db) => db.get("exchange", "sync"))) };
  }

  /** What a hub is still to be sent and the final server has by file. */
  private async carried(device: Meta["device"]): Promise<Ranges> {
    return device.finalKey ? (await this.memory()).carried : [];
  }

  async state(): ReturnType<Carrying["state"]> {
    const device = await this.device();
    const memory = await this.memory();
    if (!device) return { ready: false, waiting: 0, files: [] };
    if (!(await keyOf(this.database, device))) {
      // without the server it stays unknown, and the screen says what that means
      await learnKey(this.env, this.database, device).catch(() => undefined);
    }
    const outbox = await this.kept.outbox(0, await this.carried(device));
    const files = memory.files.map(({ at, lines, takenAt }) => ({ at, lines: size(lines), takenAt }));
    return {
      ready: (await keyOf(this.database, device)) !== null,
      waiting: outbox?.waiting ?? 0,
      files: files.reverse(),
    };
  }

  async make(): ReturnType<Carrying["make"]> {
    const device = await this.device();
    const key = device && (await keyOf(this.database, device));
    if (!device || !key) {
      return no("key_unknown", "This phone does not know the key of the server that the file is for.");
    }
    const now = this.env.now();
    const made = await makeFile(this.kept, key, await this.carried(device), now);
    if (!made) return no("nothing_waits", "No line waits on this phone.");
    const { file, text, lines, head } = made;
    // remembered before anybody has the file: its answer must find this
    await this.note({ file, at: now, lines, head, takenAt: null });
    const stamp = new Date(now).toISOString().slice(0, 16).replace(/[:T]/g, "-");
    const left = (await this.state()).waiting - size(lines);
    return {
      ok: true,
      name: `chinrest-lines-${device.id.slice(0, 8)}-${stamp}.txt`,
      text,
      lines: size(lines),
      left: Math.max(0, left),
    };
  }

  private async note(note: CarriedNote): Promise<void> {
    await this.database.run((db) => {
      const tx = db.transaction("exchange", "readwrite", { durability: "strict" });
      return inTransaction(tx, async () => {
        const before = { ...NO_MEMORY, ...(await tx.store.get("sync")) };
        await tx.store.put({ ...before, files: [...before.files, note].slice(-FILES_KEPT) }, "sync");
      });
    });
  }

  async open(text: string): Promise<Outcome<{ settled: number; taken: number; refused: number }>> {
    const device = await this.device();
    if (!device) return no("not_enrolled", "This phone is not enrolled.");
    if (kindOf(text) === "carried") {
      return no("not_an_answer", "This is a file of lines, and not the answer to one.");
    }
    const read = await readReceipts(text, { device: device.id, key: finalKeyOf(device) });
    if (!read.ok) return read;
    const { said } = read;
    const memory = await this.memory();
    const note = memory.files.find(({ file }) => file === said.file);
    if (!note) {
      return no(
        "other_file",
        "This phone does not know the file that this answers: it was made before its store was cleared, or long ago. Make a new file; nothing was changed.",
      );
    }
    const rawAt = (seq: number): Promise<string | null> => this.kept.raw(device.id, seq);
    const head = await rawAt(note.head.seq);
    if (head !== null && (await sha256(envelopeText(head))) !== note.head.sha256) {
      return no(
        "other_lines",
        "The lines of that file are not those of this phone any more: its store was set back. Nothing was changed.",
      );
    }
    const proven = said.receipt ? await this.provenBy(said.receipt, said.server, said.epoch, device) : 0;
    const key = finalKeyOf(device);
    const backup = await backedUpAfter(memory.backup, said.backup, key, device.id, rawAt);
    const rows = new Map<number, Row>();
    for (const { seq } of said.refused) {
      const row = seq === null ? null : await this.kept.line(device.id, seq);
      if (row) rows.set(row.seq, row);
    }
    const direct = said.server === device.server;
    let settled = 0;
    const { taken } = await this.kept.answer([], (before) => {
      const result = settle(before, said, { note, proven, backup, direct, rows });
      settled = result.settled;
      return result.taken;
    });
    if (taken.fault) return { ok: false, fault: taken.fault };
    await this.changed();
    return {
      ok: true,
      settled,
      taken: said.taken.reduce((sum, [from, to]) => sum + to - from + 1, 0),
      refused: said.refused.length,
    };
  }

  private async provenBy(
    receipt: Parameters<typeof provenUpTo>[0],
    server: string,
    epoch: string,
    device: Meta["device"],
  ): Promise<number> {
    if (receipt.server !== server || receipt.epoch !== epoch) return 0;
    return provenUpTo(receipt, finalKeyOf(device), device.id, (seq) => this.kept.raw(device.id, seq));
  }
}

/** `changed` is called once an answer is stored. */
export function carryingOf(env: Env, database: Database, changed: () => Promise<void>): Carrying {
  return new FileCarrying(env, database, changed);
}
