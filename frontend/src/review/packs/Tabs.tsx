import { person } from "../api";
import { closedTo } from "../roles";
import { hrefOf, type Page } from "../route";

const TABS: [Page, string][] = [
  ["packs", "Packs"],
  ["difference", "What differs"],
  ["fits", "What it computes to"],
  ["rollout", "Who has which"],
  ["drafts", "Drafts"],
];

/** The way between the lead's pages of packs. */
export function Tabs({ page }: { page: Page }) {
  const who = person.value;
  const tabs = TABS.filter(([to]) => !who || closedTo(to, who) === null);
  return (
    <nav class="desk-tabs" aria-label="Guidance packs">
      <ul>
        {tabs.map(([to, word]) => (
          <li key={to}>
            <a href={hrefOf(to)} {...(to === page ? { "aria-current": "page" } : {})}>
              {word}
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}
