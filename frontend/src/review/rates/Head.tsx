import type { ComponentChildren } from "preact";
import { useId } from "preact/hooks";
import { Button } from "../../ui";
import type { PackNames } from "../newest";
import { Select } from "../parts/Select";
import { hrefOf, type Page } from "../route";
import { ownSite, siteChoices } from "../yours";
import type { Period } from "./address";
import { monthOf, periodParams } from "./address";

const TABS: [Page, string][] = [
  ["rates", "Rates"],
  ["charts", "Charts"],
  ["craft", "Comfort and craft"],
  ["summary", "Report to print"],
];

/** The way between the pages of rates; the period and the site go along. */
export function Tabs({ page, period }: { page: Page; period: Period }) {
  return (
    <nav class="desk-tabs" aria-label="Rates">
      <ul>
        {TABS.map(([to, word]) => (
          <li key={to}>
            <a
              href={hrefOf(to, null, periodParams(period))}
              {...(to === page ? { "aria-current": "page" } : {})}
            >
              {word}
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}

function MonthField({
  label,
  value,
  onMonth,
}: {
  label: string;
  value: string;
  onMonth: (month: string) => void;
}) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <input
        id={id}
        type="month"
        value={value}
        placeholder="YYYY-MM"
        onChange={(event) => onMonth(monthOf(event.currentTarget.value))}
      />
    </div>
  );
}

/** Months and site, which every page has; what else narrows a page comes before them. */
export function Filters({
  period,
  names,
  onPeriod,
  children,
}: {
  period: Period;
  names: PackNames;
  onPeriod: (change: Partial<Period>) => void;
  children?: ComponentChildren;
}) {
  return (
    <form class="desk-filters" aria-label="What is counted" onSubmit={(event) => event.preventDefault()}>
      {children}
      <MonthField label="First month" value={period.first} onMonth={(first) => onPeriod({ first })} />
      <MonthField label="Last month" value={period.last} onMonth={(last) => onPeriod({ last })} />
      <Select
        label="Site"
        value={period.site}
        disabled={!names.settled}
        options={siteChoices(names.sites, period.site, ownSite())}
        onPick={(site) => onPeriod({ site })}
      />
      <Button onClick={() => window.print()}>Print</Button>
    </form>
  );
}
