import { useEffect, useMemo, useState } from "preact/hooks";
import type { Timeline } from "../../types.gen";
import { Segmented } from "../../ui";
import { sinceWords } from "../incident/clocks";
import { namesFrom, packOf } from "../names";
import { stagesOf } from "../stages";
import { isDeskLine } from "../standing";
import { type Beat, storyOf } from "../story";
import { BeatItem } from "./BeatItem";
import { Stages } from "./Stages";
import { Empty } from "./states";

type Showing = "stages" | "all" | "case" | "main";

/** The whole case as one line of time. `line` is the one that is looked for. */
export function CaseStory({
  timeline,
  line,
  heading,
  follow,
  begin = "all",
}: {
  timeline: Timeline;
  line: string | null;
  heading: "h2" | "h3";
  /** Goes to the line that is looked for. */
  follow: boolean;
  /** What is shown at first. */
  begin?: Showing;
}) {
  const [showing, setShowing] = useState<Showing>(begin);
  // reads the packs' signal while rendering, so that names appear as packs arrive
  const packs = [...new Set(timeline.entries.map((e) => e.pack))].map((sha) => [sha, packOf(sha)] as const);
  const known = packs.map(([, pack]) => pack?.version ?? "").join();
  const names = useMemo(() => new Map(packs.map(([sha, pack]) => [sha, namesFrom(pack)])), [known]);
  const beats = useMemo(
    () => storyOf(timeline, (sha) => names.get(sha) ?? namesFrom(null)),
    [timeline, names],
  );
  useEffect(() => {
    if (line && follow) document.getElementById(`line-${line}`)?.scrollIntoView({ block: "center" });
  }, [line, follow]);
  const shown = beats.filter((beat) => isShown(beat, showing, line));
  const since = (beat: Beat) => sinceWords(beat.entry, (names.get(beat.entry.pack) ?? namesFrom(null)).dye);
  if (timeline.entries.length === 0) {
    return <Empty title="No line of this case is here">Nothing of it has reached the server yet.</Empty>;
  }
  return (
    <>
      <Segmented<Showing>
        legend="Show"
        value={showing}
        onPick={setShowing}
        options={[
          { id: "stages", text: "By stage" },
          { id: "all", text: "Every line" },
          { id: "case", text: "Without the desk's own" },
          { id: "main", text: "Pose, comfort, safety, not done" },
        ]}
      />
      {showing === "stages" ? (
        <Stages stages={stagesOf(beats, line)} line={line} since={since} heading={heading} />
      ) : (
        <ol class="desk-line" aria-label="Line of time">
          {shown.map((beat, index) => (
            <BeatItem
              key={beat.entry.id}
              beat={beat}
              before={shown[index - 1]?.entry.at ?? null}
              sought={beat.entry.id === line}
              since={since(beat)}
              heading={heading}
            />
          ))}
        </ol>
      )}
    </>
  );
}

function isShown(beat: Beat, showing: Showing, line: string | null): boolean {
  if (showing === "all") return true;
  if (showing === "case") return !isDeskLine(beat.entry.type);
  return beat.telling.tone !== "plain" || beat.amends !== null || beat.entry.id === line;
}
