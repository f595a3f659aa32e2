/** Proves a pack before it may guide anyone: its bytes are what its name says, its format is one that this app
 * reads, and this phone's kernels reach the pack's own check values. */
import type { Pack } from "../types.gen";
import { parsePack } from "./parse";

export const PACK_FORMATS: readonly number[] = [1];
/** Faults shown at most: hundreds of vectors may disagree for one reason. */
const SHOWN = 12;

export type Proof =
  | { ok: true; pack: Pack; vectors: number }
  | { ok: false; faults: string[]; damaged?: true };

export async function sha256Of(bytes: Uint8Array): Promise<string> {
  const digest = await crypto.subtle.digest("SHA-256", bytes as Uint8Array<ArrayBuffer>);
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function words(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** What the phone reads of a pack without asking first. Missing parts are named, so that the lead can tell why. */
const LISTS = ["cautions", "sites", "optics", "stages", "steps", "fields", "fit_vectors"] as const;
const PARTS = ["faces", "limits", "pupil", "touch", "choices", "phrases", "thresholds", "emergency"] as const;

function missingParts(pack: Record<string, unknown>): string[] {
  const faults: string[] = [];
  for (const key of LISTS) {
    if (!Array.isArray(pack[key])) faults.push(`the pack's '${key}' is missing or is no list`);
  }
  for (const key of PARTS) {
    if (typeof pack[key] !== "object" || pack[key] === null) faults.push(`the pack's '${key}' is missing`);
  }
  return faults;
}

export async function prove(sha256: string, bytes: Uint8Array): Promise<Proof> {
  const is = await sha256Of(bytes);
  if (is !== sha256) {
    return {
      ok: false,
      damaged: true,
      faults: [
        `the pack that came is ${is.slice(0, 12)}…, not ${sha256.slice(0, 12)}…: it was changed or cut on its way`,
      ],
    };
  }
  let pack: Pack;
  try {
    pack = parsePack(bytes);
  } catch (error) {
    return { ok: false, faults: [`the pack can't be read: ${words(error)}`] };
  }
  if (typeof pack !== "object" || pack === null) return { ok: false, faults: ["the pack is no JSON object"] };
  if (!PACK_FORMATS.includes(pack.format)) {
    return {
      ok: false,
      faults: [
        `the pack has format ${String(pack.format)}; this app reads format ${PACK_FORMATS.join(", ")}. Update the app.`,
      ],
    };
  }
  const missing = missingParts(pack as unknown as Record<string, unknown>);
  if (missing.length > 0) return { ok: false, faults: missing };
  // only a new pack needs it here: a cold start reads on without. A part that can't be read is no fault of the pack
  const { checkVectors } = await import("../kernel");
  let faults: string[];
  try {
    faults = checkVectors(pack);
  } catch (error) {
    faults = [`the check values can't be worked out on this phone: ${words(error)}`];
  }
  if (faults.length > SHOWN) faults = [...faults.slice(0, SHOWN), `… and ${faults.length - SHOWN} more`];
  return faults.length > 0 ? { ok: false, faults } : { ok: true, pack, vectors: pack.fit_vectors.length };
}
