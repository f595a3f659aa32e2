/** What a server does with lines in short form, for tests: puts back what was left out. */
import { sha256 } from "../bytes";
import { envelopeText, readLine } from "../line";

/** The whole lines; null where one can't be put back. */
export async function restored(short: readonly string[]): Promise<string[] | null> {
  const [first] = short;
  if (first === undefined) return [];
  const start = readLine(first)?.envelope;
  if (!start) return null;
  const whole = [first];
  for (const [n, line] of short.slice(1).entries()) {
    const tab = line.indexOf("\t");
    if (tab < 36) return null;
    const body = line.slice(tab + 1);
    const prev = await sha256(envelopeText(whole[n] as string));
    const chained = { id: line.slice(0, 36), device: start.device, seq: start.seq + n + 1, prev };
    const head = JSON.stringify({ ...chained, body_sha256: await sha256(body) });
    whole.push(`${head.slice(0, -1)},${line.slice(36, tab)}\t${body}`);
  }
  return whole;
}
