import { useEffect, useMemo, useState } from "preact/hooks";
import type { Timeline } from "../../types.gen";
import { Segmented, Tag } from "../../ui";
import { useAsked } from "../asked";
import { namesFrom, packOf } from "../names";
import { BeatItem } from "../parts/BeatItem";
import { ReactionClasses } from "../parts/ReactionClasses";
import { Empty, Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { type Beat, storyOf } from "../story";
import { moment, timeZone } from "../when";

type Showing = "all" | "main";

export function CaseScreen({ id, line }: { id: string; line: string | null }) {
  const { answer, value, again } = useAsked<Timeline>(`/api/cases/${encodeURIComponent(id)}`);
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
  const [showing, setShowing] = useState<Showing>("all");
  // reads the packs' signal while rendering, so that names appear as packs arrive
  const packs = [...new Set(timeline.entries.map((e) => e.pack))].map((sha) => [sha, packOf(sha)] as const);
  const known = packs.map(([, pack]) => pack?.version ?? "").join();
  const beats = useMemo(() => {
    const names = new Map(packs.map(([sha, pack]) => [sha, namesFrom(pack)]));
    return storyOf(timeline, (sha) => names.get(sha) ?? namesFrom(null));
  }, [timeline, known]);
  useEffect(() => {
    if (line) document.getElementById(`line-${line}`)?.scrollIntoView({ block: "center" });
  }, [line]);
  const shown = showing === "all" ? beats : beats.filter((beat) => isMain(beat, line));
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
      <ReactionClasses rows={timeline.reactions ?? []} />
      <Segmented<Showing>
        legend="Show"
        value={showing}
        onPick={setShowing}
        options={[
          { id: "all", text: "Every line" },
          { id: "main", text: "Pose, comfort, safety, not done" },
        ]}
      />
      {timeline.entries.length === 0 ? (
        <Empty title="No line of this case is here">Nothing of it has reached the server yet.</Empty>
      ) : (
        <ol class="desk-line" aria-label="Line of time">
          {shown.map((beat, index) => (
            <BeatItem
              key={beat.entry.id}
              beat={beat}
              before={shown[index - 1]?.entry.at ?? null}
              sought={beat.entry.id === line}
            />
          ))}
        </ol>
      )}
    </>
  );
}

function isMain(beat: Beat, line: string | null): boolean {
  return beat.telling.tone !== "plain" || beat.amends !== null || beat.entry.id === line;
}
