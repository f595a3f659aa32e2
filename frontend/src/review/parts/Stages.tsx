import { Fold } from "../../ui";
import { STAGE_TITLES, type Stage } from "../stages";
import type { Beat } from "../story";
import { clock, day } from "../when";
import { BeatItem } from "./BeatItem";

/** The case by its stages: the moments that matter stand open, what lies between them is folded, and prints whole. */
export function Stages({
  stages,
  line,
  since,
  heading: Heading,
}: {
  stages: readonly Stage[];
  line: string | null;
  since: (beat: Beat) => string[];
  heading: "h2" | "h3";
}) {
  const item = (beat: Beat, before: number | null) => (
    <BeatItem
      key={beat.entry.id}
      beat={beat}
      before={before}
      sought={beat.entry.id === line}
      since={since(beat)}
      heading={Heading === "h2" ? "h3" : "h4"}
    />
  );
  return (
    <>
      {stages.map((stage) => {
        let before: number | null = null;
        const next = (beat: Beat) => {
          const made = item(beat, before);
          before = beat.entry.at;
          return made;
        };
        return (
          <section key={stage.id} class="desk-stage" aria-label={STAGE_TITLES[stage.id]}>
            <Heading>
              {STAGE_TITLES[stage.id]}{" "}
              <span class="quiet t-small">{spanWords(stage.from, stage.to, stage.count)}</span>
            </Heading>
            <ol class="desk-line">
              {stage.runs.map((run) =>
                run.open ? (
                  next(run.beat)
                ) : (
                  <li key={run.beats[0]?.entry.id} class="desk-rest">
                    <Fold word={restWords(run.beats)}>
                      <ol class="desk-line">{run.beats.map(next)}</ol>
                    </Fold>
                  </li>
                ),
              )}
            </ol>
          </section>
        );
      })}
    </>
  );
}

function spanWords(from: number, to: number, count: number): string {
  const until = day(from) === day(to) ? clock(to) : `${day(to)}, ${clock(to)}`;
  const when = from === to ? clock(from) : `${clock(from)} to ${until}`;
  return `${day(from)}, ${when} · ${count === 1 ? "one line" : `${count} lines`}`;
}

/** "4 more: Optic: Ultra-wide; Face measures, right eye; …" */
function restWords(beats: readonly Beat[]): string {
  const titles = beats.slice(0, NAMED).map((beat) => beat.telling.title);
  const rest = beats.length > NAMED ? "; …" : "";
  return `${beats.length === 1 ? "One more" : `${beats.length} more`}: ${titles.join("; ")}${rest}`;
}

const NAMED = 3;
