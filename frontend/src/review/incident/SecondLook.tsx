import { useState } from "preact/hooks";
import type { Person, Review } from "../../types.gen";
import { Button, Tag, TextArea } from "../../ui";
import type { Answer } from "../api";
import { moment } from "../when";
import { FormFoot } from "./FormFoot";
import type { Reviewing } from "./useReview";

/** Two people close an incident: one asks, another looks. What is closed can be opened again. */
export function SecondLook({ reviewing, person }: { reviewing: Reviewing; person: Person }) {
  const { review, name } = reviewing;
  const { closing } = review;
  const left = review.actions.filter((action) => action.state === "open").length;
  const stands = closing?.closed_at ? "closed" : closing ? "asked" : "open";
  const ready = review.judged !== null && left === 0;
  return (
    <section id="part-look" tabIndex={-1} class="desk-part" aria-label="Second look">
      <h2>Second look</h2>
      {closing && (
        <p>
          {name(closing.asked_by)} asked for it, {moment(closing.asked_at)}: {closing.asked_note}
        </p>
      )}
      {closing?.closed_at && (
        <p>
          <Tag icon="tick">closed</Tag> {name(closing.closed_by ?? "")}, {moment(closing.closed_at)}
          {closing.closed_note ? `: ${closing.closed_note}` : ""}
        </p>
      )}
      {stands === "open" && !ready && (
        <p class="quiet">
          {review.judged === null
            ? "It is classified first."
            : `${left} of its actions ${left === 1 ? "is" : "are"} still open.`}
        </p>
      )}
      {(stands === "open" || (stands === "closed" && review.late)) && ready && (
        <NoteForm
          key="closing"
          reviewing={reviewing}
          what="closing"
          field="note"
          label="Why it can be closed"
          act="Ask for the second look"
          must
          folded={stands === "open" ? null : "Ask for the second look again"}
        />
      )}
      {stands === "asked" && closing?.asked_by === person.id && (
        <p class="quiet">Another person takes the second look; nobody closes what they asked to close.</p>
      )}
      {stands === "asked" && closing?.asked_by !== person.id && (
        <NoteForm
          key="close"
          reviewing={reviewing}
          what="close"
          field="note"
          label="What you looked at (may stay empty)"
          act="Close it"
          folded={null}
        />
      )}
      {closing && (
        <NoteForm
          key="reopen"
          reviewing={reviewing}
          what="reopen"
          field="why"
          label="Why it is opened again"
          act={stands === "closed" ? "Open it again" : "Send it back"}
          must
          folded={stands === "closed" ? "Open it again" : "Send it back"}
        />
      )}
    </section>
  );
}

/** One text and one button. `folded`: the word of a button that brings it out. */
export function NoteForm({
  reviewing,
  what,
  field,
  label,
  act,
  must,
  folded,
}: {
  reviewing: Reviewing;
  what: string;
  field: "note" | "why" | "text";
  label: string;
  act: string;
  must?: boolean;
  folded: string | null;
}) {
  const [open, setOpen] = useState(folded === null);
  const [text, setText] = useState("");
  const [answer, setAnswer] = useState<Answer<Review> | null>(null);
  const [busy, setBusy] = useState(false);
  async function save(event: Event) {
    event.preventDefault();
    setBusy(true);
    const got = await reviewing.decide(what, { [field]: text });
    setBusy(false);
    setAnswer(got);
    if (got.state !== "ready") return;
    setText("");
    setOpen(folded === null);
  }
  // what was folded may have come to stand open meanwhile: then there is no word for a button
  if (!open && folded !== null) return <Button onClick={() => setOpen(true)}>{folded}</Button>;
  return (
    <form class="desk-form" aria-label={act} onSubmit={save}>
      <TextArea label={label} value={text} onText={setText} maxLength={4000} />
      <FormFoot answer={answer} reviewing={reviewing} />
      <p class="desk-buttons">
        <Button kind="main" type="submit" disabled={busy || (must === true && !text.trim())}>
          {act}
        </Button>
        {folded !== null && <Button onClick={() => setOpen(false)}>Leave it</Button>}
      </p>
    </form>
  );
}
