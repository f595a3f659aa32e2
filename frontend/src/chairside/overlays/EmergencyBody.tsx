import type { ComponentChildren } from "preact";
import type { Contact, Emergency } from "../../types.gen";
import { Icon, Notice } from "../../ui";

/** What the way out opens with when no guidance is on the phone. */
export const OPENING_WORDS = ["Draw back.", "Patient out of the rest.", "Lights on."];

/** A number as a telephone dials it: digits and a leading plus. */
export function dialled(phone: string): string {
  return phone.replace(/(?!^\+)[^\d]/g, "");
}

/** Those of this site first, then those of every site. */
export function contactsFor(contacts: readonly Contact[], site: string | null): Contact[] {
  return [
    ...contacts.filter((c) => c.site === site && c.site !== ""),
    ...contacts.filter((c) => c.site === ""),
  ];
}

/** The first sentences of the clinic's page, or our own where there is none. */
export function OpeningWords({ page }: { page: Emergency | null }) {
  return (
    <ul class="opening-words">
      {(page?.first ?? OPENING_WORDS).map((w) => (
        <li key={w}>{w}</li>
      ))}
    </ul>
  );
}

/** The clinic's own page: its first sentences, its numbers, its kit, its steps. It only ever sends for help. */
export function EmergencyBody({
  page,
  site,
  after,
  said,
}: {
  page?: Emergency | null;
  site?: string | null;
  /** The first sentences stand above already. */
  said?: boolean;
  /** What stands below the numbers, before the longer text. */
  after?: ComponentChildren;
}) {
  const contacts = page ? contactsFor(page.contacts, site ?? null) : [];
  return (
    <div class="stack">
      {!said && <OpeningWords page={page ?? null} />}
      {contacts.map((c) => (
        <a key={`${c.name}${c.phone}`} class="call" href={`tel:${dialled(c.phone)}`}>
          <Icon name="call" />
          <span class="call-words">
            <span class="call-number number">{c.phone}</span>
            <span>{c.name}</span>
            {c.note && <span class="t-small quiet">{c.note}</span>}
          </span>
        </a>
      ))}
      {after}
      {!page && (
        <Notice kind="warn" title="The clinic's numbers are not on this phone">
          <p>Use the number on the wall or the clinic's own list.</p>
        </Notice>
      )}
      {page && (
        <>
          <p>
            <span class="strong">Kit: </span>
            {page.kit}
          </p>
          <ol class="numbered emergency-steps">
            {page.local_steps.map((s) => (
              <li key={s}>{s}</li>
            ))}
          </ol>
          <Notice kind="warn">
            <p>{page.caution}</p>
          </Notice>
        </>
      )}
      <p class="t-small quiet">
        The clinic's own emergency plan and licensed staff decide. This page sends for help; it never says
        that help is not needed.
      </p>
    </div>
  );
}
