import { useState } from "preact/hooks";
import type { Join, Review, Timeline } from "../../types.gen";
import { Button, TextField } from "../../ui";
import type { Answer } from "../api";
import { hrefOf } from "../route";
import { moment } from "../when";
import { FormFoot } from "./FormFoot";
import type { Reviewing } from "./useReview";

/** The emergencies that are counted as part of this incident, by whose word, and the officer's way to part them. */
export function Joined({
  reviewing,
  timeline,
  again,
}: {
  reviewing: Reviewing;
  timeline: Timeline | null;
  /** Reads the case again: what counts as one incident has changed. */
  again: () => void;
}) {
  const joins = timeline?.joins ?? [];
  const mine = joins.filter((join) => join.incident === reviewing.line);
  const told = joins.filter((join) => join.reaction === reviewing.line && !join.parted);
  if (mine.length + told.length === 0) return null;
  return (
    <section id="part-emergency" tabIndex={-1} class="desk-part" aria-label="The emergency">
      <h2>The emergency</h2>
      {told.map((join) => (
        <p key={join.incident}>
          It is counted as part of <a href={hrefOf("incident", join.incident)}>the event that tells of it</a>,
          and stands here for what was begun on this page.
        </p>
      ))}
      {mine.map((join) => (
        <One key={join.reaction} {...{ join, reviewing, again }} />
      ))}
    </section>
  );
}

function One({ join, reviewing, again }: { join: Join; reviewing: Reviewing; again: () => void }) {
  const [parting, setParting] = useState(false);
  const [why, setWhy] = useState("");
  const [answer, setAnswer] = useState<Answer<Review> | null>(null);
  const closed = reviewing.review.state === "closed";
  const { reaction, parted = false } = join;
  const say = async (now: boolean): Promise<void> => {
    const got = await reviewing.decide("parting", { reaction, why: now ? why : "", parted: now });
    setAnswer(got);
    if (got.state !== "ready") return;
    setParting(false);
    setWhy("");
    again();
  };
  return (
    <>
      <p>
        {parted
          ? `The emergency opened ${moment(join.at)} is counted by itself: ${join.why} (${join.parted_by ?? "an officer"}).`
          : `The emergency opened ${moment(join.at)} is counted as part of this incident, ${
              join.how === "said"
                ? "as the photographer said"
                : "since it was opened within minutes of it in the same case"
            }.`}
        {join.again &&
          " Another report tells of the same emergency: rates count the two once, with the heavier harm."}
      </p>
      <FormFoot answer={answer} reviewing={reviewing} />
      {!closed && parted && <Button onClick={() => void say(false)}>Count them as one again</Button>}
      {!closed && !parted && !parting && (
        <Button onClick={() => setParting(true)}>They are two incidents</Button>
      )}
      {parting && (
        <form
          class="desk-form"
          aria-label="Two incidents"
          onSubmit={(event) => {
            event.preventDefault();
            void say(true);
          }}
        >
          <TextField label="Why they are two" value={why} onText={setWhy} maxLength={400} />
          <p class="desk-buttons">
            <Button kind="main" type="submit" disabled={!why.trim()}>
              Count each by itself
            </Button>
            <Button onClick={() => setParting(false)}>Leave it</Button>
          </p>
        </form>
      )}
    </>
  );
}
