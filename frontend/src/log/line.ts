/** One line: an envelope and a body, two JSON texts with a tab between. The bytes are the truth: what was once
 * written is hashed, kept and sent as it is, and never written anew from what was read. */
import type { Envelope } from "../types.gen";
import { base64, randomBytes, sha256, utf8 } from "./bytes";
import { AppendError } from "./types";

export const LINE_LIMIT_BYTES = 16 * 1024;
export const FIRST_PREV = "0".repeat(64);
export const LINE_VERSION = 1;

/** Where a device's chain ends: the next line follows from it. */
export interface Head {
  seq: number;
  sha256: string;
}

export const NO_HEAD: Head = { seq: 0, sha256: FIRST_PREV };

/** A line as read. `body` is null where it is no JSON object (it is kept all the same). */
export interface Line {
  envelope: Envelope;
  body: Record<string, unknown> | null;
}

/** What the envelope says besides its place in the chain. */
export type Stamp = Omit<Envelope, "device" | "seq" | "prev" | "body_sha256" | "v">;

/** Half an emoji (a text cut in the middle) is no valid UTF-8 and a number that isn't finite is no JSON: the one
 * is replaced by the replacement character, the other refused, since null would say something else. */
function careful(key: string, value: unknown): unknown {
  if (typeof value === "string") return value.replace(/\p{Surrogate}/gu, "\uFFFD");
  if (typeof value === "number" && !Number.isFinite(value)) {
    throw new AppendError("not_finite", `${key}: ${value} is not a number that can be written down`);
  }
  return value;
}

export function json(value: unknown): string {
  return JSON.stringify(value, careful);
}

/** The body's text: 16 random bytes of salt first, so that a short body can't be guessed from its hash. */
export function bodyText(fields: object): string {
  return json({ salt: base64(randomBytes(16)), ...fields });
}

/** A line about to be written: its bytes, and the head that the chain then has. */
export interface Next {
  raw: string;
  head: Head;
  envelope: Envelope;
}

/** The line that follows `head`, and the head that it makes. */
export async function nextLine(
  device: string,
  head: Head,
  stamp: Stamp,
  body: string,
  bodySha256: string,
): Promise<Next> {
  const envelope: Envelope = {
    id: stamp.id,
    device,
    seq: head.seq + 1,
    prev: head.sha256,
    body_sha256: bodySha256,
    at: stamp.at,
    mono: stamp.mono,
    boot: stamp.boot,
    actor: stamp.actor,
    case: stamp.case,
    practice: stamp.practice,
    pack: stamp.pack,
    type: stamp.type,
    v: LINE_VERSION,
    // only where it says something: a clock that is not behind needs no such word
    ...(stamp.after == null ? {} : { after: stamp.after }),
  };
  const text = json(envelope);
  const raw = `${text}\t${body}`;
  // a cheap bound first: UTF-8 takes at most three bytes for each unit of a JavaScript text
  if (raw.length * 3 > LINE_LIMIT_BYTES) {
    const size = utf8(raw).length;
    if (size > LINE_LIMIT_BYTES) {
      throw new AppendError(
        "too_large",
        `${stamp.type}: this entry has ${size} bytes; one entry may have ${LINE_LIMIT_BYTES}. Shorten the note.`,
      );
    }
  }
  return { raw, head: { seq: envelope.seq, sha256: await sha256(text) }, envelope };
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch (error) {
    if (error instanceof SyntaxError) return undefined; // told apart from JSON null, which is a value
    throw error;
  }
}

/** The envelope's own bytes, as hashed by the chain. */
export function envelopeText(raw: string): string {
  const tab = raw.indexOf("\t");
  return tab < 0 ? raw : raw.slice(0, tab);
}

/** Reads a line, the envelope first. Null when not even the envelope can be placed. */
export function readLine(raw: string): Line | null {
  const envelope = parsed(envelopeText(raw));
  if (!isObject(envelope)) return null;
  const { id, device, seq, at, type } = envelope;
  if (typeof id !== "string" || typeof device !== "string" || typeof type !== "string") return null;
  if (!Number.isSafeInteger(seq) || (seq as number) < 1 || typeof at !== "number") return null;
  const tab = raw.indexOf("\t");
  const body = tab < 0 ? undefined : parsed(raw.slice(tab + 1));
  return { envelope: envelope as unknown as Envelope, body: isObject(body) ? body : null };
}
