import type { DeviceRow, RefusedRow } from "../../types.gen";
import { Fold, Icon } from "../../ui";
import { moment } from "../when";

/** A chain that forked: the branch that counts and the one that is kept aside, line beside line. */
export function BranchRow({
  device,
  aside,
  columns,
}: {
  device: DeviceRow;
  aside: RefusedRow[];
  columns: number;
}) {
  const { branch } = device;
  if (!branch) return null;
  const lines = [...aside].sort((a, b) => (a.seq ?? 0) - (b.seq ?? 0));
  return (
    <tr class="desk-gap">
      <td colSpan={columns}>
        <Icon name="danger" />
        <strong>
          {device.label} has written two branches from line {branch.first_seq} on.
        </strong>{" "}
        A copy of it was put back, or two phones write as one. Both branches are kept: the one that came first
        counts, {branch.lines === 1 ? "one line" : `${branch.lines} lines`} of the other{" "}
        {branch.lines === 1 ? "stands" : "stand"} aside and in no rate. Ask the site which one was at the
        chair, and withdraw the copy.
        <Fold word="Both branches, line by line">
          <table class="desk-beside">
            <caption class="only-heard">Both branches of {device.label}</caption>
            <thead>
              <tr>
                <th scope="col">Line</th>
                <th scope="col">The branch that counts</th>
                <th scope="col">Kept aside</th>
                <th scope="col">Received</th>
              </tr>
            </thead>
            <tbody>
              {lines.map((line) => (
                <tr key={`${line.seq} ${line.id}`}>
                  <th scope="row">{line.seq}</th>
                  <td>{line.stands ? lineWords(line.stands) : "nothing yet"}</td>
                  <td>{lineWords(line)}</td>
                  <td>{moment(line.received_at)}</td>
                </tr>
              ))}
            </tbody>
          </table>
          {lines.length < branch.lines && <p>These are the newest {lines.length} of them.</p>}
        </Fold>
      </td>
    </tr>
  );
}

const lineWords = (line: { type: string | null; at: number | null; case: string | null }): string =>
  [line.type ?? "unreadable", line.at === null ? "" : moment(line.at), line.case ? `case ${line.case}` : ""]
    .filter(Boolean)
    .join(", ");
