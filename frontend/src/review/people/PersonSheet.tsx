import { useState } from "preact/hooks";
import type { AccountRow, InvitationLink, Role, SiteRow } from "../../types.gen";
import { Button, Sheet, TextField } from "../../ui";
import { Select } from "../parts/Select";
import { Refusal } from "../parts/states";
import { ROLE_HELP } from "../roles";
import { ROLE_OPTIONS, siteOptions } from "./InviteForm";
import { LinkCard } from "./LinkCard";
import { usePost } from "./usePost";

interface Props {
  row: AccountRow;
  sites: readonly SiteRow[];
  onClose: (changed: boolean) => void;
}

/** What an admin does about one person. Each act is a line of the server's log. */
export function PersonSheet({ row, sites, onClose }: Props) {
  return (
    <Sheet title={row.name} onClose={() => onClose(true)}>
      <div class="stack">
        {row.withdrawn_at === null && (
          <>
            <RoleForm row={row} sites={sites} onClose={onClose} />
            <NewLink row={row} />
          </>
        )}
        <ByReason row={row} onClose={onClose} />
      </div>
    </Sheet>
  );
}

function RoleForm({ row, sites, onClose }: Props) {
  const [role, setRole] = useState<Role>(row.role);
  const [site, setSite] = useState(row.site ?? "");
  const { answer, busy, send } = usePost<AccountRow>(() => onClose(true));
  const same = role === row.role && site === (row.site ?? "");
  const save = (event: Event) => {
    event.preventDefault();
    void send(`/api/people/${row.id}`, { role, site: site || null });
  };
  return (
    <form class="stack" onSubmit={save} aria-label="Role and site">
      <Select label="Role" value={role} options={ROLE_OPTIONS} onPick={(picked) => setRole(picked as Role)} />
      <p class="quiet t-small">{ROLE_HELP[role]}</p>
      <Select label="Site" value={site} options={siteOptions(sites)} onPick={setSite} />
      <Refusal answer={answer} />
      <Button type="submit" disabled={busy || same}>
        Save role and site
      </Button>
    </form>
  );
}

function NewLink({ row }: { row: AccountRow }) {
  const [link, setLink] = useState<InvitationLink | null>(null);
  const { answer, busy, send } = usePost<InvitationLink>(setLink);
  return (
    <section class="stack" aria-labelledby="desk-new-link">
      <h2 id="desk-new-link">A new link</h2>
      <p class="quiet">
        {row.joined
          ? "For who forgot their password: they set a new one, and are signed out everywhere. Until then the old one holds."
          : "In place of the one they have, which then opens nothing."}
      </p>
      <Refusal answer={answer} />
      <Button disabled={busy} onClick={() => void send(`/api/people/${row.id}/invitation`, {})}>
        Make a new link
      </Button>
      {link && <LinkCard name={row.name} link={link} />}
    </section>
  );
}

/** What is never done without saying why. */
function ByReason({ row, onClose }: Omit<Props, "sites">) {
  const [why, setWhy] = useState("");
  const { answer, busy, send } = usePost<AccountRow>(() => onClose(true));
  const act = (what: string) => void send(`/api/people/${row.id}/${what}`, { why: why.trim() });
  const idle = busy || !why.trim();
  return (
    <section class="stack" aria-labelledby="desk-by-reason">
      <h2 id="desk-by-reason">{row.withdrawn_at === null ? "Withdraw" : "Let in again"}</h2>
      <p class="quiet">
        {row.withdrawn_at === null
          ? "Nothing opens for them from their next contact on, and an open invitation ends. What they wrote and decided stays theirs."
          : "They sign in again with the password they had; make a new link if they forgot it."}
      </p>
      <TextField
        label="Why"
        hint="For whoever reads the log later."
        value={why}
        onText={setWhy}
        maxLength={500}
      />
      <Refusal answer={answer} />
      {row.withdrawn_at === null ? (
        <Button kind="danger" disabled={idle} onClick={() => act("withdraw")}>
          Withdraw {row.name}
        </Button>
      ) : (
        <Button disabled={idle} onClick={() => act("readmit")}>
          Let {row.name} in again
        </Button>
      )}
      {row.second_factor && (
        <Button disabled={idle} onClick={() => act("second-factor-off")}>
          Turn their second factor off
        </Button>
      )}
    </section>
  );
}
