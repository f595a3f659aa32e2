import type { IncidentCounts } from "../../types.gen";
import { Icon, Notice } from "../../ui";
import { useAsked } from "../asked";
import { countsQuery, type Filters, paramsOf, STATES } from "../filters";
import { useChanges } from "../live";
import { hrefOf } from "../route";
import { STATE_WORDS, sentence } from "../words";

/** How far the reviews are, in numbers that are links: what is new, what is late. */
export function Queue({ filters, round }: { filters: Filters; round: number }) {
  const { value } = useAsked<IncidentCounts>(`/api/incident-counts?${countsQuery(filters)}`, round, {
    changes: useChanges("lines", "reviews"),
  });
  const all = value && STATES.reduce((sum, state) => sum + value[state], 0);
  const to = (change: Partial<Filters>) =>
    hrefOf("incidents", null, paramsOf({ ...filters, review: "", overdue: false, page: 1, ...change }));
  return (
    <>
      <UnreadCases count={value?.unread_cases ?? 0} />
      <UnreadDevices count={value?.unread_devices ?? 0} />
      <nav aria-label="Queue" class="desk-queue">
        <ul>
          <Item href={to({})} word="All" count={all} here={!filters.review && !filters.overdue} />
          {STATES.map((state) => (
            <Item
              key={state}
              href={to({ review: state })}
              word={sentence(STATE_WORDS[state])}
              count={value?.[state]}
              here={filters.review === state && !filters.overdue}
            />
          ))}
          <Item
            href={to({ overdue: true })}
            word="Overdue actions"
            count={value?.overdue}
            here={filters.overdue}
            late={(value?.overdue ?? 0) > 0}
          />
        </ul>
      </nav>
    </>
  );
}

function UnreadCases({ count }: { count: number }) {
  if (count === 0) return null;
  const title = `${count === 1 ? "One case is" : `${count} cases are`} missing here and in every count`;
  return (
    <Notice kind="warn" title={title}>
      <p>
        {count === 1 ? "Its" : "Their"} lines are stored, and this server cannot make a case of them: a fault
        of the server's own. Its log says which (“cannot be folded”). It is tried again when more lines come,
        and when the server starts.
      </p>
    </Notice>
  );
}

function UnreadDevices({ count }: { count: number }) {
  if (count === 0) return null;
  const what = count === 1 ? "one device" : `${count} devices`;
  return (
    <Notice kind="warn" title={`What ${what} noted outside any case is missing here and in every count`}>
      <p>
        {count === 1 ? "Its" : "Their"} lines are stored, and this server cannot read incidents from them: a
        fault of the server's own. Its log says which device (“lines outside cases cannot be folded”). It is
        tried again when more such lines come, and when the server starts.
      </p>
    </Notice>
  );
}

function Item({
  href,
  word,
  count,
  here,
  late,
}: {
  href: string;
  word: string;
  count: number | null | undefined;
  here: boolean;
  late?: boolean;
}) {
  return (
    <li>
      <a href={href} class={late ? "desk-queue-late" : ""} {...(here ? { "aria-current": "true" } : {})}>
        {late && <Icon name="clock" />}
        <span>{word}</span> <span class="number desk-queue-count">{count ?? "…"}</span>
      </a>
    </li>
  );
}
