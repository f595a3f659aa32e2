/** Amendments: what each line says once later lines have put it right. All of them stay in the log. The server
 * reads them by the same rules. */
import type { Line } from "./line";
import { fits, knows } from "./needs";

export interface Standing {
  line: Line;
  known: boolean;
  /** The body as it stands; null where this version can't read it. A withdrawn line keeps the body that it had. */
  body: Record<string, unknown> | null;
  amendedBy: string | null;
  withdrawn: boolean;
}

function asWritten(line: Line): Standing {
  const { type } = line.envelope;
  const readable = knows(type) && line.body !== null && fits(type, line.body);
  return { line, known: readable, body: readable ? line.body : null, amendedBy: null, withdrawn: false };
}

/** `lines` of one case in order. The last amendment that itself stands decides. One can be amended in turn, but only
 * by a later line, so that no two can hold each other up. A new body that doesn't fit its type changes nothing. */
export function afterAmendments(lines: readonly Line[]): Standing[] {
  const standing = lines.map(asWritten);
  const places = new Map(lines.map((line, i) => [line.envelope.id, i]));
  const mended = new Set<number>(); // places whose body an amendment has given
  for (let i = standing.length - 1; i >= 0; i--) {
    const amender = standing[i];
    if (amender?.line.envelope.type !== "line.amended" || amender.withdrawn || !amender.body) continue;
    const { line: named, body } = amender.body;
    const at = places.get(String(named));
    const target = at === undefined ? undefined : standing[at];
    if (at === undefined || !target || at === i) continue;
    if (target.line.envelope.type === "line.amended" && at > i) continue;
    const by = amender.line.envelope.id;
    if (body === null) {
      if (target.amendedBy === null) {
        target.amendedBy = by;
        target.withdrawn = true;
      }
      continue;
    }
    if (mended.has(at) || typeof body !== "object" || Array.isArray(body)) continue;
    const given = body as Record<string, unknown>;
    if (knows(target.line.envelope.type)) {
      if (!fits(target.line.envelope.type, given)) continue;
      target.body = given;
      target.known = true;
    }
    mended.add(at);
    target.amendedBy ??= by;
  }
  return standing;
}
