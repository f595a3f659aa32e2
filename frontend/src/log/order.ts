/** The one order in which lines are read: each device's by its sequence, the devices merged by the time they claim.
 * A clock that is set back never turns round a device's own order: its lines then count as no earlier than the one
 * before. Nor does a line count as earlier than what its device had read of the case when it wrote it (`after`): a slow
 * clock never undoes what somebody decided on what they saw. The server orders by the same rule. */
import type { Line } from "./line";

/** The time of a line as it is merged: as claimed, but never before what it follows. */
export const claimed = ({ at, after }: Line["envelope"]): number =>
  typeof after === "number" ? Math.max(at, after + 1) : at;

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

/** Each line once. Same result for any order of arrival. */
export function inOrder(lines: Iterable<Line>): Line[] {
  const byDevice = new Map<string, Line[]>();
  for (const line of new Map([...lines].map((one) => [one.envelope.id, one])).values()) {
    const own = byDevice.get(line.envelope.device) ?? [];
    own.push(line);
    byDevice.set(line.envelope.device, own);
  }
  const keyed: { at: number; line: Line }[] = [];
  for (const own of byDevice.values()) {
    own.sort((a, b) => a.envelope.seq - b.envelope.seq || compare(a.envelope.id, b.envelope.id));
    let latest = Number.NEGATIVE_INFINITY;
    for (const line of own) {
      latest = Math.max(latest, claimed(line.envelope));
      keyed.push({ at: latest, line });
    }
  }
  keyed.sort((a, b) => {
    const [x, y] = [a.line.envelope, b.line.envelope];
    return a.at - b.at || compare(x.device, y.device) || x.seq - y.seq || compare(x.id, y.id);
  });
  return keyed.map(({ line }) => line);
}
