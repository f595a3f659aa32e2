import { useState } from "preact/hooks";
import type { InvitationLink, Role, SiteRow } from "../../types.gen";
import { Button, TextField } from "../../ui";
import { person } from "../api";
import { Select } from "../parts/Select";
import { Refusal } from "../parts/states";
import { ROLE_HELP, ROLE_WORDS, ROLES } from "../roles";
import { ownSite } from "../yours";
import { LinkCard } from "./LinkCard";
import { usePost } from "./usePost";

export const ROLE_OPTIONS = ROLES.map((role) => ({ id: role, text: ROLE_WORDS[role] }));
/** Where somebody may be made to work. An admin with a site gives that site alone. */
export const siteOptions = (sites: readonly SiteRow[]) => [
  ...(ownSite() === null ? [{ id: "", text: "all sites" }] : []),
  ...sites.map((site) => ({ id: site.id, text: site.name })),
];

/** Somebody new: who, as what, where; then the link that is theirs. */
export function InviteForm({ sites, onInvited }: { sites: readonly SiteRow[]; onInvited: () => void }) {
  const [name, setName] = useState("");
  const [role, setRole] = useState<Role>("officer");
  const [site, setSite] = useState(person.value?.site ?? "");
  const [made, setMade] = useState<{ name: string; link: InvitationLink } | null>(null);
  const { answer, busy, send } = usePost<InvitationLink>((link) => {
    setMade({ name: name.trim(), link });
    setName("");
    onInvited();
  });
  const invite = (event: Event) => {
    event.preventDefault();
    setMade(null);
    void send("/api/people", { name: name.trim(), role, site: site || null });
  };
  return (
    <>
      <form class="card stack desk-narrow" onSubmit={invite} aria-labelledby="desk-invite">
        <h2 id="desk-invite">Invite somebody</h2>
        <TextField
          label="Name"
          hint="As colleagues know them: they sign in with it, and decisions stand under it."
          value={name}
          onText={setName}
          maxLength={100}
        />
        <Select
          label="Role"
          value={role}
          options={ROLE_OPTIONS}
          onPick={(picked) => setRole(picked as Role)}
        />
        <p class="quiet t-small">{ROLE_HELP[role]}</p>
        <Select label="Site" value={site} options={siteOptions(sites)} onPick={setSite} />
        <p class="quiet t-small">With a site, they see and change what belongs to that site alone.</p>
        <Refusal answer={answer} />
        <Button kind="main" type="submit" disabled={busy || !name.trim()}>
          Make an invitation
        </Button>
      </form>
      {made && <LinkCard name={made.name} link={made.link} />}
    </>
  );
}
