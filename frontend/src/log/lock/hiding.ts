/** How a phone with PINs stores its lines: while somebody has unlocked it, and while nobody has. */

import { sha256 } from "../bytes";
import type { Seal } from "../carry/hpke";
import type { Meta, Row, StoredRow } from "../db";
import type { Hiding, Outgoing, Sending } from "../hiding";
import { envelopeText, FIRST_PREV } from "../line";
import type { LockKeys, Opened } from "./keys";
import {
  type HiddenRow,
  keep,
  openRefusal,
  openRow,
  readyOut,
  readySeals,
  type Seals,
  sealRefusal,
  sealRow,
} from "./rows";
import { hiddenToken } from "./tokens";

async function hashOf(row: Row, known: string | undefined): Promise<string> {
  return known ?? sha256(envelopeText(row.raw));
}

export class Unlocked implements Hiding {
  /** Made ahead, so that no tap waits for it. */
  private ready: Promise<Seal>;

  constructor(
    private readonly keys: LockKeys,
    private readonly opened: Opened,
  ) {
    this.ready = readyOut(keys);
  }

  readonly refusals: NonNullable<Hiding["refusals"]> = {
    hide: (line) => sealRefusal(this.keys, line),
    show: (lines) => Promise.all(lines.map((line) => openRefusal(this.opened, line))),
  };

  private next(): Promise<Seal> {
    const { ready } = this;
    this.ready = readyOut(this.keys);
    return ready;
  }

  async hide(row: Row, known?: string): Promise<StoredRow> {
    // what another phone wrote, the server has
    const out = row.device === this.keys.device ? await this.next() : null;
    return keep(this.opened, row, await hashOf(row, known), out);
  }

  async show(rows: readonly StoredRow[]): Promise<Row[]> {
    const read = await Promise.all(
      rows.map((row) => (row.form === "plain" ? row : openRow(this.opened, row))),
    );
    return read.filter((row): row is Row => row !== null);
  }

  async send(rows: readonly StoredRow[]): Promise<Sending> {
    return { rows: await this.show(rows), sealed: false, headSha256: null };
  }

  fullToken(device: Meta["device"]): Promise<string | null> {
    return hiddenToken(this.opened, device, device.full);
  }
}

export class Locked implements Hiding {
  private ready: Promise<Seals>;
  /** What was written on this page since it was locked, by id: the emergency page goes on with it. */
  private readonly own = new Map<string, Row>();

  constructor(private readonly keys: LockKeys) {
    this.ready = readySeals(keys);
  }

  readonly refusals: NonNullable<Hiding["refusals"]> = {
    hide: (line) => sealRefusal(this.keys, line),
    show: (lines) => Promise.resolve(lines.map(({ hidden: _unread, ...line }) => line)),
  };

  async hide(row: Row, known?: string): Promise<StoredRow> {
    const { ready } = this;
    this.ready = readySeals(this.keys);
    const sealed = await sealRow(await ready, row, await hashOf(row, known));
    this.own.set(row.id, row);
    return sealed;
  }

  show(rows: readonly StoredRow[]): Promise<Row[]> {
    return Promise.resolve(rows.flatMap((row) => this.own.get(row.id) ?? []));
  }

  here(): [string, number][] {
    return [...this.own.values()].map(({ device, seq }) => [device, seq]);
  }

  /** Sealed for the server. A line that has nothing for it waits until the phone is unlocked. */
  send(rows: readonly StoredRow[]): Promise<Sending> {
    const going = rows.filter(
      (row): row is HiddenRow & { out: string } => row.form !== "plain" && row.out !== null,
    );
    const outgoing = going.map(({ id, seq, case: of, out }): Outgoing => ({ id, seq, case: of, raw: out }));
    return Promise.resolve({ rows: outgoing, sealed: true, headSha256: going.at(-1)?.sha256 ?? FIRST_PREV });
  }
}
