import type { InvitationLink } from "../../types.gen";
import { Copy } from "../parts/Copy";
import { moment } from "../when";

/** An invitation, shown once: the server keeps only its hash. */
export function LinkCard({ name, link }: { name: string; link: InvitationLink }) {
  return (
    <section class="card stack" aria-label="Invitation">
      <p role="status">
        Give this address to {name} and to nobody else: whoever opens it first sets the password. It is good
        once, until <strong class="number">{moment(link.expires_at)}</strong>, and is not shown again.
      </p>
      <p class="desk-address">
        <code>{link.url}</code>
      </p>
      <Copy word="Copy the address" text={() => link.url} />
    </section>
  );
}
