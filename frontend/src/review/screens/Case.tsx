import type { Timeline } from "../../types.gen";
import { Tag } from "../../ui";
import { useAsked } from "../asked";
import { ComfortPicture } from "../incident/ComfortPicture";
import { useChanges } from "../live";
import { CaseStory } from "../parts/CaseStory";
import { Erased } from "../parts/Erased";
import { ReactionClasses } from "../parts/ReactionClasses";
import { Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { moment, timeZone } from "../when";

export function CaseScreen({ id, line }: { id: string; line: string | null }) {
  const path = `/api/cases/${encodeURIComponent(id)}`;
  const { answer, value, again } = useAsked<Timeline>(path, 0, {
    changes: useChanges("lines", "reviews"),
    after: (read) => `${path}?seen=${read.position}`,
  });
  return (
    <div class="stack">
      <p class="desk-back">
        <a href={hrefOf("incidents")} onClick={goBack}>
          Back to the incidents
        </a>
      </p>
      <Waiting answer={answer} what="this case" again={again} />
      {value && <Story timeline={value} line={line} />}
    </div>
  );
}

/** Back to the list as it was filtered, where we came from it. */
function goBack(event: Event) {
  if (history.length > 1) {
    event.preventDefault();
    history.back();
  }
}

function Story({ timeline, line }: { timeline: Timeline; line: string | null }) {
  const first = timeline.entries[0];
  return (
    <>
      <div class="row-ends">
        <h1>Case {timeline.code ?? "without a code"}</h1>
        <p class="desk-tags">
          <Tag icon={timeline.state === "open" ? "info" : "tick"}>
            {timeline.state === "open" ? "open" : `closed: ${timeline.outcome ?? "no outcome given"}`}
          </Tag>
          {timeline.practice && (
            <Tag practice icon="practice">
              practice, never counted
            </Tag>
          )}
        </p>
      </div>
      <p class="quiet">
        {timeline.site_name}
        {first ? ` · began ${moment(first.at)}` : ""} · {timeline.entries.length} lines at log position{" "}
        <span class="number">{timeline.position}</span>. Times are each device's own clock, shown in{" "}
        {timeZone()}. That you read this case was logged.
      </p>
      <Erased timeline={timeline} />
      <ReactionClasses rows={timeline.reactions ?? []} />
      <ComfortPicture timeline={timeline} />
      <CaseStory timeline={timeline} line={line} heading="h2" follow />
    </>
  );
}
