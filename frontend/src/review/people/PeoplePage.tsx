import { useState } from "preact/hooks";
import type { AccountRow, Person, SiteRow } from "../../types.gen";
import { Button, Icon, Tag } from "../../ui";
import { useAsked } from "../asked";
import { Cell } from "../parts/Cell";
import { Waiting } from "../parts/states";
import { ROLE_WORDS } from "../roles";
import { ago, moment } from "../when";
import { InviteForm } from "./InviteForm";
import { PersonSheet } from "./PersonSheet";

/** The admin's list of who may sign in. */
export function PeoplePage({ person }: { person: Person }) {
  const { answer, value, again } = useAsked<AccountRow[]>("/api/people");
  const sites = useAsked<SiteRow[]>("/api/sites").value ?? [];
  const [open, setOpen] = useState<AccountRow | null>(null);
  return (
    <div class="stack">
      <div class="row-ends">
        <h1>People</h1>
        <Button onClick={again}>Ask again</Button>
      </div>
      <p class="quiet">
        Who may sign in at this desk. Whatever is changed here is a line of the server's log, under your name.
        Your own account is changed by another admin.
        {person.site_name !== null &&
          ` These are the people of ${person.site_name}. Whoever has no site, or another, is changed by an admin without one.`}
      </p>
      <Waiting
        answer={answer ?? (value ? { state: "ready", value } : null)}
        what="the people"
        again={again}
      />
      {value && (
        <table class="desk-table">
          <caption class="only-heard">People</caption>
          <thead>
            <tr>
              <th scope="col">Name</th>
              <th scope="col">Role</th>
              <th scope="col">Site</th>
              <th scope="col">Last sign-in</th>
              <th scope="col">Second factor</th>
              <th scope="col">Invitation</th>
              <th scope="col">Change</th>
            </tr>
          </thead>
          <tbody>
            {value.map((row) => (
              <tr key={row.id}>
                <Cell label="Name" head="row">
                  {row.name}
                  {row.withdrawn_at !== null && (
                    <span class="desk-tags">
                      <Tag icon="cross">withdrawn {moment(row.withdrawn_at)}</Tag>
                    </span>
                  )}
                </Cell>
                <Cell label="Role">{ROLE_WORDS[row.role]}</Cell>
                <Cell label="Site">
                  {row.site === null ? "all sites" : (sites.find((s) => s.id === row.site)?.name ?? row.site)}
                </Cell>
                <Cell label="Last sign-in">
                  <LastSignIn at={row.last_sign_in_at} />
                </Cell>
                <Cell label="Second factor">{row.second_factor ? "on" : "off"}</Cell>
                <Cell label="Invitation">
                  <Invitation row={row} />
                </Cell>
                <Cell label="Change">
                  {row.id === person.id ? (
                    "your own"
                  ) : (
                    <Button onClick={() => setOpen(row)} aria-label={`Change ${row.name}`}>
                      Change
                    </Button>
                  )}
                </Cell>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <InviteForm sites={sites} onInvited={again} />
      {open && (
        <PersonSheet
          row={open}
          sites={sites}
          onClose={() => {
            setOpen(null);
            again();
          }}
        />
      )}
    </div>
  );
}

function LastSignIn({ at }: { at: number | null }) {
  if (at === null) return <>never</>;
  return (
    <>
      {ago(at, Date.now())}
      <span class="desk-note">{moment(at)}</span>
    </>
  );
}

function Invitation({ row }: { row: AccountRow }) {
  if (row.invited_until === null) return <>{"none"}</>;
  if (row.invited_until > Date.now()) return <>open until {moment(row.invited_until)}</>;
  return (
    <span class="desk-harm">
      <Icon name="warn" />
      ran out {moment(row.invited_until)}
    </span>
  );
}
