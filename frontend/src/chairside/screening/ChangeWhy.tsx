/** An answer that held the dye back is about to be replaced by one that holds it back less: never without the reason. */
import { useEffect, useRef } from "preact/hooks";
import { Button, TextArea } from "../../ui";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { saving } from "../record";

const REASONS = ["Pressed by mistake", "The patient or the notes say otherwise", "It is different now"];

export function ChangeWhy({
  id,
  from,
  to,
  onWhy,
  onLeave,
}: {
  /** Of the draft: the case and the question. */
  id: string;
  /** The answers, in the pack's words. */
  from: string;
  to: string;
  /** Whether it was saved. */
  onWhy: (why: string) => Promise<boolean>;
  onLeave: () => void;
}) {
  const [draft, change, drop] = useDraft(`change-why/${id}`, { more: "" });
  const top = useRef<HTMLHeadingElement>(null);
  useEffect(() => top.current?.focus({ preventScroll: true }), []);
  const say = async (reason: string): Promise<void> => {
    const more = draft.more.trim();
    if (await onWhy(more === "" ? reason : `${reason}: ${more}`)) drop();
  };
  return (
    <section class="stack" aria-label="The answer changes">
      <h2 class="t-do" ref={top} tabIndex={-1}>
        Why does the answer change?
      </h2>
      <dl class="facts">
        <dt>It was</dt>
        <dd>{from}</dd>
        <dt>It becomes</dt>
        <dd>{to}</dd>
      </dl>
      <p>The first answer held the dye back. It stays in the record, with this reason beside the new one.</p>
      <TextArea
        label="More about it (may stay empty)"
        hint={NO_NAMES}
        value={draft.more}
        onText={(more) => change({ more })}
        maxLength={300}
        warning={looksLikePerson(draft.more) ?? undefined}
      />
      <div class="big-answers">
        {REASONS.map((reason) => (
          <Button key={reason} wide disabled={saving.value > 0} onClick={() => void say(reason)}>
            {reason}
          </Button>
        ))}
      </div>
      <Button kind="quiet" onClick={onLeave}>
        Leave the first answer
      </Button>
    </section>
  );
}
