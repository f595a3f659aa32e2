import type { Fault } from "../../types.gen";
import { Notice } from "../../ui";

/** Why the server did not take a code; `title` says what did not come of it. */
export function Refused({ fault, title }: { fault: Fault; title: string }) {
  return (
    <Notice kind="danger" title={fault.code === "no_answer" ? "The server does not answer" : title} loud>
      <p>{fault.why}</p>
    </Notice>
  );
}
