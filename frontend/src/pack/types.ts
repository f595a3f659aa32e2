/** What the shelf of guidance packs offers to the screens. */
import type { ReadonlySignal } from "@preact/signals";
import type { EyeSide, Pack, Recall, Step } from "../types.gen";

export interface Held {
  sha256: string;
  pack: Pack;
}

/** A pack that was not taken, with every reason in words. */
export interface RefusedPack {
  sha256: string;
  faults: string[];
}

export interface Shelf {
  /** The pack that the next case begins with. */
  readonly current: ReadonlySignal<Held | null>;
  /** A newer, proved pack that takes over between cases. */
  readonly waiting: ReadonlySignal<Held | null>;
  /** Recall of the current pack, shown at once, even in mid-case. */
  readonly recall: ReadonlySignal<Recall | null>;
  /** Every recall known to this phone, by hash, so that a case on an older pack can show its own. */
  readonly recalled: ReadonlySignal<ReadonlyMap<string, Recall>>;
  readonly refused: ReadonlySignal<RefusedPack[]>;
  /** Takes a pack in: its hash checked, its vectors proved, kept durably; then it is `waiting`. Does nothing
   * for a pack that is held already. A pack that cannot be taken goes to `refused`; the old one stays in use. */
  offer(sha256: string, fetchBytes: () => Promise<Uint8Array>): Promise<void>;
  /** Makes the waiting pack current. Called only when no case is open on this phone. */
  changeOver(): Promise<void>;
  /** The pack with this hash, or null when it is not on this phone. */
  packFor(sha256: string): Promise<Held | null>;
  recalls(list: Recall[]): Promise<void>;
  /** Removes packs that are neither current nor waiting nor named in `inUse` (hashes of the cases kept). */
  tidy(inUse: Iterable<string>): Promise<void>;
  /** Called when a pack was taken or refused, so that the log can say so. Returns how to stop. */
  onVerdict(listener: (verdict: Verdict) => void): () => void;
  close(): void;
}

export type Verdict =
  | { taken: true; sha256: string; vectors: number }
  | { taken: false; sha256: string; faults: string[] };

export type Eye = EyeSide;

/** What decides which steps there are. */
export interface Situation {
  eyes: Eye[];
  studyEye: Eye | null;
  modalities: string[];
  flags: string[];
  /** Every flag that was ever set on the case: what once brought a stop, brings it until it is released. */
  everFlags: string[];
  crossSections: boolean;
  /** Optics in the order in which they were put on; one that was put on again stands again. */
  optics: string[];
}

/** One round of a step. `key` is the same text as the log's key of what was done for it. */
export interface PlannedStep {
  key: string;
  step: Step;
  eye: Eye | null;
  optic: string | null;
}
