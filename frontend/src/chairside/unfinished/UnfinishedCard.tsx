import { Icon, Notice } from "../../ui";
import { app } from "../app";
import { useNow } from "../now";
import { drugActions } from "../reaction/tables";
import { formatRoute } from "../router";
import { clock, count, span } from "../words";
import { unfinishedHere } from "./list";
import { unfinishedWords } from "./words";

/** On the home screen until nothing is left: what was logged in a hurry, and for how long it has waited. */
export function UnfinishedCard() {
  const now = useNow(30_000);
  const cases = app.log.cases.value;
  const pack = app.shelf.current.value?.pack ?? null;
  const list = unfinishedHere(cases, app.log.device.value?.id ?? null, drugActions(pack));
  if (list.length === 0) return null;
  return (
    <Notice kind="warn" title={`${count(list.length, "thing", "things")} to finish`}>
      <ul class="list">
        {list.map((item) => {
          const told = unfinishedWords(item, pack);
          const of = cases.find((c) => c.id === item.case);
          const href = formatRoute({
            page: "case",
            id: item.case,
            screen: "step",
            tail: [],
            over: "unfinished",
          });
          return (
            <li key={`${item.kind}${item.line}`}>
              <a class="case-card-go" href={href}>
                <Icon name="forward" /> {told.title}
                {of?.opened ? `, ${of.code}` : ""}
                {of?.practice ? " (practice)" : ""}
              </a>
              <span class="t-small">
                {told.detail} Since {clock(item.at, now)} ({span(now - item.at)}).
              </span>
            </li>
          );
        })}
      </ul>
    </Notice>
  );
}
