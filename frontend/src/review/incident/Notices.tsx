import type { Timeline, TimelineEntry } from "../../types.gen";
import { Button, Notice } from "../../ui";
import { namesFrom, packOf } from "../names";
import { tell } from "../telling";
import { moment } from "../when";
import { lateLines } from "./late";
import type { Reviewing } from "./useReview";

const SHOWN = 10;

/** What opens the question again stands above everything else. */
export function Notices({ reviewing, timeline }: { reviewing: Reviewing; timeline: Timeline | null }) {
  const { review, name, news, meanwhile, lookAgain } = reviewing;
  const closed_at = review.closing?.closed_at ?? null;
  const late = review.late && timeline ? lateLines(timeline, closed_at) : [];
  return (
    <>
      {review.late && (
        <Notice kind="warn" title="Lines came after this was closed: the question is open again">
          <p>Look at what came, then close it again with a second look, or open it again.</p>
          <ul class="list">
            {late.slice(0, SHOWN).map((entry) => (
              <li key={entry.id}>
                {titleOf(entry)}, noted {moment(entry.at)}, received {moment(entry.received_at)}
              </li>
            ))}
            {late.length > SHOWN && <li>and {late.length - SHOWN} more, below</li>}
          </ul>
        </Notice>
      )}
      {review.reopened_why !== null && !review.closing && (
        <Notice kind="warn" title="Opened again">
          <p>
            {name(review.reopened_by ?? "")}: {review.reopened_why}
          </p>
        </Notice>
      )}
      {meanwhile?.heard && (
        <Notice kind="warn" title="Somebody else changed this while you write">
          <p>What you see stays as it was until you look again. What you wrote stays too.</p>
          <ul class="list">
            {meanwhile.said.map((said) => (
              <li key={said}>{said}</li>
            ))}
          </ul>
          <p>
            <Button onClick={lookAgain}>Look again</Button>
          </p>
        </Notice>
      )}
      {news.length > 0 && (
        <Notice title="Others changed this too" loud>
          <ul class="list">
            {news.map((said) => (
              <li key={said}>{said}</li>
            ))}
          </ul>
        </Notice>
      )}
    </>
  );
}

const titleOf = (entry: TimelineEntry): string =>
  tell(entry.type, entry.known, entry.body, namesFrom(packOf(entry.pack))).title;
