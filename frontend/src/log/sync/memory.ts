/** What a phone remembers of its exchange with the server. Kept in one row, changed in one transaction with the
 * lines that came with it. */
import type { Receipt } from "../../types.gen";
import type { Head } from "../line";
import { type Ranges, union } from "../ranges";

/** A file of lines that this phone made to be carried. `lines` are in it; the last of them is `head`. */
export interface CarriedNote {
  file: string;
  at: number;
  lines: Ranges;
  head: Head;
  /** When the server took it, by the server's clock; null while no answer has come back. */
  takenAt: number | null;
}

/** A final server's word of its last backup, proved: it holds this phone's chain up to `seq`, whose envelope has this
 * hash. It counts while it `stands`: the latest answer gave it, and none before it was newer. */
export interface BackedUp {
  epoch: string;
  seq: number;
  head_sha256: string;
  /** When it was said, by the server's clock. */
  at: number;
  stands: boolean;
}

export interface SyncMemory {
  server: string | null;
  /** The server's epoch: new after a restore. Positions are only compared within one. */
  epoch: string | null;
  /** Last log position pulled in this epoch; never backwards within it. */
  cursor: number | null;
  /** Own sequences that an answer named as stored, repeat or waiting, and that the server still says it holds. */
  held: Ranges;
  /** Those of `held` that a final server named. Only these may ever be cleared from the phone, once they are backed
   * up there too. */
  final: Ranges;
  backup: BackedUp | null;
  /** Own sequences that were refused: not offered again in this epoch, shown until a person has seen to them. */
  refused: Ranges;
  /** At a hub's phone: own sequences that the final server took by file. The hub is still offered them. */
  carried: Ranges;
  /** The latest files that this phone made, oldest first. An answer to another file means nothing here. */
  files: CarriedNote[];
  offeredAgain: number;
  heardAt: number | null;
  serverNow: number | null;
  clockOffsetMs: number | null;
  serverApp: string | null;
  /** Whether the server, by its latest answer, takes lines in short form. */
  takesShort: boolean;
  unreadable: number;
  /** The server's latest signed word of what it holds; kept as evidence, and asked for by nobody but a person. */
  receipt: Receipt | null;
  /** Set when the server has shut this phone out; survives a reload. */
  shut: "withdrawn" | "unknown" | null;
}

/** Own sequences that no longer wait: some server has them, or would not take them. */
export function settledOf({ held, carried, refused }: SyncMemory): Ranges {
  return union(union(held, carried), refused);
}

export const NO_MEMORY: SyncMemory = {
  server: null,
  epoch: null,
  cursor: null,
  held: [],
  final: [],
  backup: null,
  refused: [],
  carried: [],
  files: [],
  offeredAgain: 0,
  heardAt: null,
  serverNow: null,
  clockOffsetMs: null,
  serverApp: null,
  takesShort: false,
  unreadable: 0,
  receipt: null,
  shut: null,
};
