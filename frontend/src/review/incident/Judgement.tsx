import { useState } from "preact/hooks";
import type { Classed, IncidentClassified, Judged, ReactionClass, Review, Timeline } from "../../types.gen";
import { Button, Fold, PickMany, PickOne, Segmented, TextArea } from "../../ui";
import type { Answer } from "../api";
import { HarmWord } from "../parts/tags";
import { PREVENTABLE } from "../tellingReviews";
import { moment } from "../when";
import { HARM_SCALE, HARMS, plain, sentence } from "../words";
import { FormFoot } from "./FormFoot";
import { FACTOR_SCALE, FACTORS, joinFactors, splitFactors } from "./factors";
import type { Reviewing } from "./useReview";

type Preventable = IncidentClassified["preventable"];
const OPEN = "open";

/** What the desk makes of it: kept beside the reporter's words, never over them. */
export function Judgement({ reviewing, timeline }: { reviewing: Reviewing; timeline: Timeline | null }) {
  const [editing, setEditing] = useState(false);
  const { review, name } = reviewing;
  const classes = (timeline?.reactions ?? []).flatMap((row) => row.classes);
  return (
    <section id="part-classify" tabIndex={-1} class="desk-half" aria-label="As the desk sees it">
      <h2>As the desk sees it</h2>
      {review.judged ? (
        <JudgedView judged={review.judged} classes={classes} name={name} />
      ) : (
        !editing && <p class="quiet">Not classified yet.</p>
      )}
      {editing ? (
        <JudgementForm reviewing={reviewing} classes={classes} onDone={() => setEditing(false)} />
      ) : (
        review.state !== "closed" && (
          <p>
            <Button kind={review.judged ? "plain" : "main"} onClick={() => setEditing(true)}>
              {review.judged ? "Classify again" : "Classify"}
            </Button>
          </p>
        )
      )}
      {review.earlier.length > 0 && (
        <Fold word={`Earlier: ${review.earlier.length}`}>
          <h3 class="desk-printed">Earlier, no longer standing</h3>
          {[...review.earlier].reverse().map((judged) => (
            <JudgedView key={judged.at} judged={judged} classes={classes} name={name} />
          ))}
        </Fold>
      )}
    </section>
  );
}

function JudgedView({
  judged,
  classes,
  name,
}: {
  judged: Judged;
  classes: Classed[];
  name: (id: string) => string;
}) {
  const { harm, preventable, factors, reaction, note, by } = judged.classified;
  return (
    <div class="desk-judged">
      {note && <blockquote class="desk-quote">{note}</blockquote>}
      <dl class="facts">
        <dt>{HARM_SCALE}</dt>
        <dd>{harm ? <HarmWord harm={harm} /> : "left open"}</dd>
        <dt>Preventable</dt>
        <dd>{preventable ? PREVENTABLE[preventable] : "left open"}</dd>
        <dt>What contributed</dt>
        <dd>{factors.join("; ") || "nothing named"}</dd>
        {reaction && (
          <>
            <dt>Class of the reaction</dt>
            <dd>{classWords(reaction, classes)}</dd>
          </>
        )}
        <dt>By</dt>
        <dd>
          {name(by)}, {moment(judged.at)}
        </dd>
      </dl>
    </div>
  );
}

/** With its scale and the version of its table: a class alone says nothing. */
function classWords(reaction: ReactionClass, classes: Classed[]): string {
  const known = classes.find((one) => one.scale === reaction.scale && one.class_id === reaction.grade);
  const grade = known?.class_name ?? plain(reaction.grade);
  return `${grade} (${known?.scale_name ?? plain(reaction.scale)}, table ${reaction.version})`;
}

function JudgementForm({
  reviewing,
  classes,
  onDone,
}: {
  reviewing: Reviewing;
  classes: Classed[];
  onDone: () => void;
}) {
  const before = reviewing.review.judged?.classified;
  const [harm, setHarm] = useState<string>(before ? (before.harm ?? OPEN) : "");
  const [preventable, setPreventable] = useState<string>(before ? (before.preventable ?? OPEN) : "");
  const [factors, setFactors] = useState(() => splitFactors(before?.factors ?? []));
  const [reaction, setReaction] = useState<string | null>(keyOf(before?.reaction ?? null));
  const [note, setNote] = useState(before?.note ?? "");
  const [answer, setAnswer] = useState<Answer<Review> | null>(null);
  const [busy, setBusy] = useState(false);
  const offered = classes.filter((one) => one.class_id !== null);
  async function save(event: Event) {
    event.preventDefault();
    setBusy(true);
    const got = await reviewing.decide("classification", {
      harm: harm === OPEN ? null : harm,
      preventable: (preventable === OPEN ? null : preventable) as Preventable,
      factors: joinFactors(factors.classes, factors.words),
      reaction: classOf(reaction, offered) ?? (reaction === null ? null : (before?.reaction ?? null)),
      note,
    });
    setBusy(false);
    setAnswer(got);
    if (got.state === "ready") onDone();
  }
  return (
    <form class="desk-form" aria-label="Classify" onSubmit={save}>
      <Segmented
        legend={`Harm, as you see it (${HARM_SCALE})`}
        value={harm}
        onPick={setHarm}
        options={[...HARMS.map((one) => ({ id: one, text: sentence(one) })), { id: OPEN, text: "Left open" }]}
      />
      <Segmented
        legend="Preventable?"
        value={preventable}
        onPick={setPreventable}
        options={[
          ...Object.entries(PREVENTABLE).map(([id, text]) => ({ id, text })),
          { id: OPEN, text: "Left open" },
        ]}
      />
      {offered.length > 0 && (
        <PickOne
          legend="Class of the reaction"
          hint="As each named scale places the signs that were logged. Pick none where none fits."
          clearable
          value={reaction}
          onPick={setReaction}
          options={[...new Map(offered.map((one) => [keyOfClassed(one), one]))].map(([id, one]) => ({
            id,
            text: `${one.class_name}`,
            help: `${one.scale_name}, table ${one.version}`,
          }))}
        />
      )}
      <PickMany
        legend={`What contributed (${FACTOR_SCALE})`}
        options={FACTORS}
        values={factors.classes}
        onPick={(ids) => setFactors({ ...factors, classes: ids })}
      />
      <TextArea
        label="What contributed, in your words"
        hint="One a line."
        value={factors.words}
        onText={(words) => setFactors({ ...factors, words })}
        maxLength={4000}
      />
      <TextArea label="Note" value={note} onText={setNote} maxLength={4000} />
      <FormFoot answer={answer} reviewing={reviewing} />
      <p class="desk-buttons">
        <Button kind="main" type="submit" disabled={busy || !harm || !preventable}>
          Save the classification
        </Button>
        <Button onClick={onDone}>Leave it</Button>
        {(!harm || !preventable) && (
          <span class="quiet t-small">Harm and preventable want an answer, or “left open”.</span>
        )}
      </p>
    </form>
  );
}

const keyOf = (one: ReactionClass | null): string | null =>
  one ? `${one.scale} ${one.version} ${one.grade}` : null;
const keyOfClassed = (one: Classed): string => `${one.scale} ${one.version} ${one.class_id}`;

function classOf(key: string | null, offered: Classed[]): ReactionClass | null {
  const found = offered.find((one) => keyOfClassed(one) === key);
  return found?.class_id ? { scale: found.scale, version: found.version, grade: found.class_id } : null;
}
