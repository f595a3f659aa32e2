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
  onClose: () => void;
}

/** What an admin does about one person. Each act is a line of the server's log. */
export function PersonSheet({ row, sites, onClose }: Props) {
  const at = `/api/people/${row.id}`;
  return (
    <Sheet title={row.name} onClose={onClose}>
      <div class="stack">
        {row.withdrawn_at === null && (
          <>
            <RoleForm row={row} sites={sites} onClose={onClose} />
            <NewLink row={row} />
          </>
        )}
        {row.second_factor && (
          <ByReason
            id="desk-second-off"
            title="Their second factor"
            said="For whoever lost the authenticator and the recovery codes: they sign in by password alone, and may set up a new one."
            word="Turn their second factor off"
            path={`${at}/second-factor-off`}
            onDone={onClose}
          />
        )}
        {row.withdrawn_at === null ? (
          <ByReason
            id="desk-withdraw"
            title="Withdraw"
            said="Nothing opens for them from their next contact on, and an open invitation ends. What they wrote and decided stays theirs."
            word={`Withdraw ${row.name}`}
            danger
            path={`${at}/withdraw`}
            onDone={onClose}
          />
        ) : (
          <ByReason
            id="desk-readmit"
            title="Let in again"
            said="They sign in again with the password they had; make a new link if they forgot it."
            word={`Let ${row.name} in again`}
            path={`${at}/readmit`}
            onDone={onClose}
          />
        )}
      </div>
    </Sheet>
  );
}

function RoleForm({ row, sites, onClose }: Props) {
  const [role, setRole] = useState<Role>(row.role);
  const [site, setSite] = useState(row.site ?? "");
  const { answer, busy, send } = usePost<AccountRow>(onClose);
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
  return (
    <>
      <ByReason
        id="desk-new-link"
        title="A new link"
        said={
          row.joined
            ? "For whoever forgot their password: they set a new one, and are signed out everywhere. Until then the old one holds."
            : "In place of the one they have, which then opens nothing."
        }
        word="Make a new link"
        path={`/api/people/${row.id}/invitation`}
        onDone={setLink}
      />
      {link && <LinkCard name={row.name} link={link} />}
    </>
  );
}

interface Reasoned<T> {
  id: string;
  title: string;
  said: string;
  word: string;
  danger?: boolean;
  path: string;
  onDone: (answer: T) => void;
}

/** What is never done without saying why. */
function ByReason<T>({ id, title, said, word, danger, path, onDone }: Reasoned<T>) {
  const [why, setWhy] = useState("");
  const { answer, busy, send } = usePost<T>(onDone);
  const act = (event: Event) => {
    event.preventDefault();
    void send(path, { why: why.trim() });
  };
  return (
    <form class="stack" onSubmit={act} aria-labelledby={id}>
      <h2 id={id}>{title}</h2>
      <p class="quiet">{said}</p>
      <TextField
        label="Why"
        hint="For whoever reads the log later."
        value={why}
        onText={setWhy}
        maxLength={500}
      />
      <Refusal answer={answer} />
      <Button kind={danger ? "danger" : "plain"} type="submit" disabled={busy || !why.trim()}>
        {word}
      </Button>
    </form>
  );
}
