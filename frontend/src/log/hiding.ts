/** Between lines as the log uses them and as they are stored. A phone without PINs stores them in the clear. */
import type { Meta, Row, StoredRow } from "./db";
import type { RefusedLine } from "./types";

/** A line as it is sent. `raw`: its own text, or where the batch is sealed, one that only the server can read. */
export interface Outgoing {
  id: string;
  seq: number;
  case: string | null;
  raw: string;
}

/** `headSha256`: of the last line's envelope where its text does not tell it. */
export interface Sending {
  rows: Outgoing[];
  sealed: boolean;
  headSha256: string | null;
}

/** A refusal as it stands in the store. `hidden`: type and reason, which are then empty beside it. */
export interface StoredRefused extends RefusedLine {
  hidden?: Uint8Array<ArrayBuffer>;
}

export interface Hiding {
  /** Before the transaction that stores it. `sha256`: of the line's envelope, by whoever knows it. */
  hide(row: Row, sha256?: string): Promise<StoredRow>;
  /** Those that can be read now, in their order. */
  show(rows: readonly StoredRow[]): Promise<Row[]>;
  /** Where nothing that is stored can be read but what this page wrote itself: the places of that. */
  here?(): [string, number][];
  /** Those that can be sent now, in their order. */
  send(rows: readonly StoredRow[]): Promise<Sending>;
  /** The full token where it is hidden and can be read now. */
  fullToken?(device: Meta["device"]): Promise<string | null>;
  /** Where refusals are hidden too, and shown again as far as they can be read now. */
  refusals?: {
    hide(line: RefusedLine): Promise<StoredRefused>;
    show(lines: readonly StoredRefused[]): Promise<RefusedLine[]>;
  };
}

const isPlain = (row: StoredRow): row is Row => row.form === "plain";

export const IN_THE_CLEAR: Hiding = {
  hide: (row) => Promise.resolve(row),
  show: (rows) => Promise.resolve(rows.filter(isPlain)),
  send: (rows) => Promise.resolve({ rows: rows.filter(isPlain), sealed: false, headSha256: null }),
};

/** The store has turned out to be that of a phone with PINs, and its keys are not read yet: nothing is written in the
 * clear. */
export const NOT_KNOWN_YET: Hiding = {
  hide: () => Promise.reject(new Error("the phone's keys are not read yet: try again")),
  show: () => Promise.resolve([]),
  send: () => Promise.resolve({ rows: [], sealed: false, headSha256: null }),
};
