import { useState } from "preact/hooks";
import type { Action, Review } from "../../types.gen";
import { Button, Icon, Tag, TextArea, TextField } from "../../ui";
import type { Answer } from "../api";
import { DayField } from "../parts/DayField";
import { dayOf, isOverdue, moment } from "../when";
import { FormFoot } from "./FormFoot";
import type { Reviewing } from "./useReview";

type Doing = { what: "done" | "drop" | "move"; action: Action } | { what: "add" } | null;

/** What is done about it, by whom and until when. */
export function Actions({ reviewing }: { reviewing: Reviewing }) {
  const [doing, setDoing] = useState<Doing>(null);
  const { review, name } = reviewing;
  const closed = review.state === "closed";
  const leave = () => setDoing(null);
  return (
    <section id="part-actions" tabIndex={-1} class="desk-part" aria-label="Actions">
      <h2>Actions</h2>
      {review.actions.length === 0 && <p class="quiet">None yet.</p>}
      <ul class="desk-actions">
        {review.actions.map((action) => (
          <li key={action.action}>
            <p class="desk-words strong">{action.text}</p>
            <p class="desk-tags">
              <Tag icon={STATE_ICON[action.state]}>{action.state}</Tag>
              <span>{action.owner}</span>
              <Due action={action} />
            </p>
            <p class="quiet t-small">
              Added by {name(action.added_by)}
              {action.changed_by ? `, moved by ${name(action.changed_by)}` : ""}
              {action.ended_at === null
                ? ""
                : `; ${action.state} by ${name(action.ended_by ?? "")}, ${moment(action.ended_at)}`}
              {action.note ? `: ${action.note}` : ""}
            </p>
            {action.state === "open" && !closed && (
              <p class="desk-buttons">
                <ActionButton word="Done" action={action} onPick={() => setDoing({ what: "done", action })} />
                <ActionButton word="Move" action={action} onPick={() => setDoing({ what: "move", action })} />
                <ActionButton word="Drop" action={action} onPick={() => setDoing({ what: "drop", action })} />
              </p>
            )}
          </li>
        ))}
      </ul>
      {doing === null && !closed && <Button onClick={() => setDoing({ what: "add" })}>Add an action</Button>}
      {doing?.what === "add" && <PlanForm reviewing={reviewing} onDone={leave} />}
      {doing?.what === "move" && (
        <PlanForm key={doing.action.action} reviewing={reviewing} action={doing.action} onDone={leave} />
      )}
      {(doing?.what === "done" || doing?.what === "drop") && (
        <EndForm
          key={`${doing.action.action} ${doing.what}`}
          reviewing={reviewing}
          action={doing.action}
          done={doing.what === "done"}
          onDone={leave}
        />
      )}
    </section>
  );
}

const STATE_ICON = { open: "clock", done: "tick", dropped: "cross" } as const;

function ActionButton({ word, action, onPick }: { word: string; action: Action; onPick: () => void }) {
  return (
    <Button onClick={onPick} aria-label={`${word}: ${action.text}`}>
      {word}
    </Button>
  );
}

function Due({ action }: { action: Action }) {
  const late = action.state === "open" && isOverdue(action.due);
  return (
    <span class={late ? "desk-harm" : ""}>
      {late && <Icon name="clock" />}
      due {dayOf(action.due)}
      {late ? ", overdue" : ""}
    </span>
  );
}

/** A new action, or another owner or day for one that there is. */
function PlanForm({
  reviewing,
  action,
  onDone,
}: {
  reviewing: Reviewing;
  action?: Action;
  onDone: () => void;
}) {
  const [text, setText] = useState("");
  const [owner, setOwner] = useState(action?.owner ?? "");
  const [due, setDue] = useState(action?.due ?? "");
  const [why, setWhy] = useState("");
  const [answer, setAnswer] = useState<Answer<Review> | null>(null);
  const [busy, setBusy] = useState(false);
  const whole = owner.trim() && due && (action ? why.trim() : text.trim());
  async function save(event: Event) {
    event.preventDefault();
    setBusy(true);
    const got = action
      ? await reviewing.decide(`actions/${encodeURIComponent(action.action)}`, { owner, due, why })
      : await reviewing.decide("actions", { text, owner, due });
    setBusy(false);
    setAnswer(got);
    if (got.state === "ready") onDone();
  }
  return (
    <form class="desk-form" aria-label={action ? `Move: ${action.text}` : "Add an action"} onSubmit={save}>
      {action ? (
        <p class="strong">{action.text}</p>
      ) : (
        <TextArea label="What is to be done" value={text} onText={setText} maxLength={4000} />
      )}
      <TextField label="Owner" hint="Who sees to it." value={owner} onText={setOwner} maxLength={200} />
      <DayField label="Due" value={due} onDay={setDue} />
      {action && <TextArea label="Why it is moved" value={why} onText={setWhy} maxLength={4000} />}
      <FormFoot answer={answer} reviewing={reviewing} />
      <p class="desk-buttons">
        <Button kind="main" type="submit" disabled={busy || !whole}>
          {action ? "Save" : "Add this action"}
        </Button>
        <Button onClick={onDone}>Leave it</Button>
      </p>
    </form>
  );
}

function EndForm({
  reviewing,
  action,
  done,
  onDone,
}: {
  reviewing: Reviewing;
  action: Action;
  done: boolean;
  onDone: () => void;
}) {
  const [note, setNote] = useState("");
  const [answer, setAnswer] = useState<Answer<Review> | null>(null);
  const [busy, setBusy] = useState(false);
  async function save(event: Event) {
    event.preventDefault();
    setBusy(true);
    const got = await reviewing.decide(`actions/${encodeURIComponent(action.action)}/end`, { done, note });
    setBusy(false);
    setAnswer(got);
    if (got.state === "ready") onDone();
  }
  return (
    <form class="desk-form" aria-label={`${done ? "Done" : "Drop"}: ${action.text}`} onSubmit={save}>
      <p class="strong">{action.text}</p>
      <TextArea
        label={done ? "What was done (may stay empty)" : "Why it is dropped"}
        value={note}
        onText={setNote}
        maxLength={4000}
      />
      <FormFoot answer={answer} reviewing={reviewing} />
      <p class="desk-buttons">
        <Button kind="main" type="submit" disabled={busy || (!done && !note.trim())}>
          {done ? "It is done" : "Drop it"}
        </Button>
        <Button onClick={onDone}>Leave it</Button>
      </p>
    </form>
  );
}
