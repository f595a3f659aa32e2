/** Lines in short form: a line that follows on the one before it goes without device, sequence, `prev` and
 * `body_sha256`, which follow from bytes that go anyway, and which the server puts back. A coding of the transport, like
 * gzip; `chinrest/log/short.py` says what it is. What is stored and hashed stays as it is.
 *
 * Whether the values left out are what the server will put there is not looked at here: hashing everything once more
 * would cost more than is saved. The batch's head tells: where it doesn't come out at the server, the lines go whole. */

const SHAPE =
  /^\{"id":"([0-9a-f-]{36})","device":"([0-9a-f-]{36})","seq":([1-9][0-9]{0,14}),"prev":"[0-9a-f]{64}","body_sha256":"[0-9a-f]{64}",/;

/** The lines as they travel; null where they are not one run, or one is not laid out as this app lays them out. */
export function shortened(lines: readonly string[]): string[] | null {
  const short: string[] = [];
  let device = "";
  let seq = 0;
  for (const raw of lines) {
    const found = SHAPE.exec(raw);
    if (!found || !raw.includes("\t") || raw.includes("\n")) return null;
    const [prefix, id = "", of = "", at = ""] = found;
    if (short.length === 0) {
      device = of;
      short.push(raw);
    } else {
      if (of !== device || Number(at) !== seq + 1) return null;
      short.push(id + raw.slice(prefix.length));
    }
    seq = Number(at);
  }
  return short;
}
