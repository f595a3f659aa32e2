/** A licensed person lets the dye go ahead in spite of a stop: by name, role and their own words, or not at all. */
import type { CaseState } from "../../log";
import type { Pack, StopReleased } from "../../types.gen";
import { Button, Notice, TextArea } from "../../ui";
import { actor } from "../app";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { LICENSED, NOBODY, Person, samePerson, whoLacks } from "./Person";

export type Stopped = Pick<StopReleased, "question" | "answer" | "step" | "eye" | "optic">;

const LEAST_WORDS = 5;

export function ReleaseForm({
  state,
  pack,
  what,
  text,
  onReleased,
}: {
  state: CaseState;
  pack: Pack;
  what: Stopped;
  text: string;
  onReleased: () => void;
}) {
  const key = `release/${state.id}/${what.question ?? what.step}/${what.answer ?? ""}`;
  const [draft, change, drop] = useDraft(key, { ...NOBODY, words: "" });
  const lacks =
    whoLacks(draft) ??
    (draft.words.trim().length < LEAST_WORDS
      ? "Their own words are needed: what they know, and why it goes on."
      : null);
  const release = async (): Promise<void> => {
    if (lacks !== null) return;
    const body = { ...what, by: draft.by.trim(), role: draft.role, words: draft.words.trim() };
    if ((await record("stop.released", body, { case: state.id })) === null) return;
    drop();
    onReleased();
  };
  return (
    <section class="stack" aria-label="Release of a stop">
      <p class="strong">{text}</p>
      <Notice kind="danger">
        <p>
          Only a licensed person who may decide this can release it, in their own name. The release is kept
          with the case. This phone gives no advice: local protocol decides.
        </p>
      </Notice>
      <Person
        legend="Released by"
        roles={pack.dosing?.releaser_roles ?? LICENSED}
        who={draft}
        onWho={change}
      />
      {samePerson(actor.value, draft.by) && (
        <Notice kind="warn">
          <p>This is who this phone is signed in as. Release it only if you are licensed to decide it.</p>
        </Notice>
      )}
      <TextArea
        label="In their words"
        hint={`What they know, and why it goes on. ${NO_NAMES}`}
        value={draft.words}
        onText={(words) => change({ words })}
        maxLength={500}
        warning={looksLikePerson(draft.words) ?? undefined}
      />
      {lacks !== null && <p class="t-small quiet">{lacks}</p>}
      <Button
        kind="warn"
        big
        wide
        icon="hand"
        disabled={lacks !== null || saving.value > 0}
        onClick={() => void release()}
      >
        Release this stop
      </Button>
    </section>
  );
}
