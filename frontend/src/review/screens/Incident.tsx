import { useEffect } from "preact/hooks";
import type { IncidentPage, IncidentRow, Person, Timeline } from "../../types.gen";
import { Button, Tag } from "../../ui";
import type { Answer } from "../api";
import { useAsked } from "../asked";
import { Actions } from "../incident/Actions";
import { ComfortPicture } from "../incident/ComfortPicture";
import { Comments } from "../incident/Comments";
import { Glance } from "../incident/Glance";
import { Joined } from "../incident/Joined";
import { Judgement } from "../incident/Judgement";
import { Likes } from "../incident/Likes";
import { Notices } from "../incident/Notices";
import { OnThisPage, Questions } from "../incident/OnThisPage";
import { goToPart } from "../incident/parts";
import { openQuestions } from "../incident/questions";
import { Reported } from "../incident/Reported";
import { SecondLook } from "../incident/SecondLook";
import { useReview } from "../incident/useReview";
import { lastList } from "../lastlist";
import { useChanges } from "../live";
import { type PackNames, usePackForNames } from "../newest";
import { CaseStory } from "../parts/CaseStory";
import { Erased } from "../parts/Erased";
import { ReactionClasses } from "../parts/ReactionClasses";
import { Waiting } from "../parts/states";
import { ReviewTag } from "../parts/tags";
import { hrefOf } from "../route";
import { moment, timeZone } from "../when";
import { sentence } from "../words";

export function IncidentScreen({
  line,
  part,
  person,
}: {
  line: string;
  /** The part of the page that the address names. */
  part: string | null;
  person: Person;
}) {
  const changes = useChanges("lines", "reviews");
  const path = `/api/incidents/${encodeURIComponent(line)}`;
  const asked = useAsked<IncidentPage>(path, 0, {
    changes,
    after: (read) => `${path}?seen=${read.position}`,
  });
  const page = asked.value;
  const inCase = page?.row.case ?? null;
  const casePath = inCase === null ? null : `/api/cases/${encodeURIComponent(inCase)}`;
  const story = useAsked<Timeline>(casePath, 0, {
    changes,
    after: (read) => `${casePath}?seen=${read.position}`,
  });
  const names = usePackForNames();
  const here = page !== null;
  useEffect(() => {
    if (here && part) goToPart(part);
  }, [here, part]);
  return (
    <div class="stack">
      <p class="desk-back">
        <a href={hrefOf("incidents", null, lastList())}>Back to the incidents</a>
      </p>
      <Waiting answer={asked.answer} what="this incident" again={asked.again} />
      {page && <Incident page={page} person={person} names={names} story={story} again={asked.again} />}
    </div>
  );
}

interface Story {
  answer: Answer<Timeline> | null;
  value: Timeline | null;
  again: () => void;
}

function Incident({
  page: first,
  person,
  names,
  story,
  again,
}: {
  page: IncidentPage;
  person: Person;
  names: PackNames;
  story: Story;
  again: () => void;
}) {
  const reviewing = useReview(first.row.line, first);
  const { page, review } = reviewing;
  const { row } = page;
  const questions = openQuestions(row, review, story.value);
  const title = sentence(names.choice("safety_what", row.what));
  useEffect(() => {
    document.title = `${title}, ${moment(row.at)} · Chinrest desk`;
  }, [title, row.at]);
  const readAgain = () => {
    reviewing.follow();
    again();
    story.again();
  };
  return (
    <>
      <div class="row-ends">
        <h1>{title}</h1>
        <Tags row={row} state={review.state} late={review.late} />
      </div>
      <p class="quiet">
        {moment(row.at)}, {row.site_name}.{" "}
        {row.case ? (
          <a href={hrefOf("case", row.case, new URLSearchParams({ line: row.line }))}>
            Case {row.case_code ?? "without a code"}
          </a>
        ) : (
          "It belongs to no case"
        )}
        . That you read this was logged.
      </p>
      <div class="row-ends">
        <OnThisPage reviewing={reviewing} timeline={story.value} questions={questions} />
        <p class="desk-buttons">
          <Button onClick={readAgain}>Read it all again</Button>
          <Button onClick={() => window.print()}>Print this report</Button>
        </p>
      </div>
      <Notices reviewing={reviewing} timeline={story.value} />
      <Erased timeline={story.value} />
      <div class="card desk-halves">
        <Reported row={row} timeline={story.value} names={names} />
        <Judgement reviewing={reviewing} timeline={story.value} />
      </div>
      <div class="desk-columns">
        <div class="desk-review">
          <Questions line={row.line} questions={questions} />
          <Joined reviewing={reviewing} timeline={story.value} again={story.again} />
          <Actions reviewing={reviewing} />
          <SecondLook reviewing={reviewing} person={person} />
          <Comments reviewing={reviewing} />
          <Likes reviewing={reviewing} names={names} />
        </div>
        <TheCase row={row} story={story} />
      </div>
      <p class="desk-printed">
        Printed {moment(Date.now())} by {person.name}. Line {row.line}
        {story.value ? `, read at log position ${story.value.position}` : ""}. Times in {timeZone()}, by each
        device's own clock.
      </p>
    </>
  );
}

function Tags({ row, state, late }: { row: IncidentRow; state: IncidentRow["state"]; late: boolean }) {
  return (
    <p class="desk-tags">
      <ReviewTag state={state} late={late} />
      {row.withdrawn ? <Tag icon="cross">withdrawn</Tag> : row.amended && <Tag icon="history">amended</Tag>}
      {row.practice && (
        <Tag practice icon="practice">
          practice, never counted
        </Tag>
      )}
    </p>
  );
}

function TheCase({ row, story }: { row: IncidentRow; story: Story }) {
  if (row.case === null) {
    return (
      <section id="part-case" tabIndex={-1} class="desk-part" aria-label="The case">
        <h2>The case</h2>
        <p class="quiet">It was noted outside of any case, so there is no line of time to read.</p>
      </section>
    );
  }
  const { value } = story;
  return (
    <section id="part-case" tabIndex={-1} class="desk-part" aria-label="The case">
      <h2>The case, as one line of time</h2>
      <Waiting
        answer={story.answer ?? (value ? { state: "ready", value } : null)}
        what="its case"
        again={story.again}
      />
      {value && (
        <>
          <Glance timeline={value} />
          <ReactionClasses rows={value.reactions ?? []} />
          <ComfortPicture timeline={value} />
          <CaseStory timeline={value} line={row.line} heading="h3" follow={false} begin="stages" />
        </>
      )}
    </section>
  );
}
