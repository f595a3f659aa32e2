import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import type { Person } from "../../types.gen";
import { Button, Icon, type Look, look, Mark, setLook } from "../../ui";
import { type Answer, signOut } from "../api";
import { hearing, useListening } from "../live";
import { closedTo, ROLE_WORDS } from "../roles";
import { hrefOf, type Page } from "../route";
import { LastBackup } from "./LastBackup";
import { Select } from "./Select";
import { Refusal } from "./states";

const THEMES = [
  { id: "system", text: "Theme: system" },
  { id: "day", text: "Theme: day" },
  { id: "dark", text: "Theme: dark" },
];

const PLACES: [Page, string][] = [
  ["incidents", "Incidents"],
  ["report", "Report"],
  ["rates", "Rates"],
  ["devices", "Devices"],
  ["enrol", "Enrol a device"],
  ["packs", "Guidance packs"],
  ["retention", "Keeping"],
  ["people", "People"],
];

/** Pages that stand under another's name. */
const UNDER: Partial<Record<Page, Page>> = {
  case: "incidents",
  incident: "incidents",
  charts: "rates",
  craft: "rates",
  summary: "rates",
  difference: "packs",
  fits: "packs",
  rollout: "packs",
  drafts: "packs",
  draft: "packs",
};

/** Pages that are asked for again by themselves. */
const FOLLOWING: Page[] = ["incidents", "incident", "case", "devices", "packs", "rollout"];
/** Pages that say when there is more, and move for nobody. */
const SAYING: Page[] = ["rates", "charts", "craft"];

export function Frame({
  person,
  page,
  children,
}: {
  person: Person;
  page: Page;
  children: ComponentChildren;
}) {
  const [left, setLeft] = useState<Answer<null> | null>(null);
  useListening();
  const pages = PLACES.filter(([to]) => closedTo(to, person) === null);
  const here: Page = UNDER[page] ?? page;
  return (
    <>
      <button type="button" class="desk-skip button" onClick={skip}>
        Go to the content
      </button>
      <header class="desk-head">
        <p class="desk-name">
          <Mark />
          <span>Chinrest desk</span>
        </p>
        <nav aria-label="Desk">
          <ul>
            {pages.map(([to, word]) => (
              <li key={to}>
                <a href={hrefOf(to)} {...(here === to ? { "aria-current": "page" } : {})}>
                  {word}
                </a>
              </li>
            ))}
          </ul>
        </nav>
        <div class="desk-who">
          <Select
            hideLabel
            label="Theme"
            value={look.value.theme}
            options={THEMES}
            onPick={(theme) => setLook({ theme: theme as Look["theme"] })}
          />
          <p class="desk-person">
            <a href={hrefOf("account")} {...(here === "account" ? { "aria-current": "page" } : {})}>
              {person.name}
            </a>{" "}
            <span class="quiet t-small">
              ({ROLE_WORDS[person.role]}
              {person.site_name !== null && `, ${person.site_name}`})
            </span>
          </p>
          {FOLLOWING.includes(page) && (
            <Follows word="Updates by itself" cut="Does not update by itself now; trying again" />
          )}
          {SAYING.includes(page) && (
            <Follows word="Says when new lines come" cut="Does not hear of new lines now; trying again" />
          )}
          <Button onClick={async () => setLeft(await signOut())}>Sign out</Button>
        </div>
      </header>
      <main id="desk-main" class="desk-main" tabIndex={-1}>
        <Refusal answer={left} />
        <LastBackup person={person} page={page} />
        {children}
      </main>
      <footer class="desk-foot quiet t-small">
        Not a medical device. The record shows what was noted, as it was noted; local rules and the
        instruments' handbooks come first.
      </footer>
    </>
  );
}

/** Whether what changes is shown, or said, without asking: said only while it is so, and plainly when it is not. */
function Follows({ word, cut }: { word: string; cut: string }) {
  if (hearing.value === "off") return null;
  return hearing.value === "on" ? (
    <p class="quiet t-small desk-follows">{word}</p>
  ) : (
    <p class="t-small desk-cut">
      <Icon name="warn" /> {cut}
    </p>
  );
}

/** The address belongs to the pages, so the jump to the content is a button's work and not a link's. */
function skip() {
  document.getElementById("desk-main")?.focus();
}
