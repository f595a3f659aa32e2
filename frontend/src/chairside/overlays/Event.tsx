import { useEffect, useState } from "preact/hooks";
import type { CaseState, Eye } from "../../log";
import { type Held, stepsFor } from "../../pack";
import { Button, Notice, Sheet } from "../../ui";
import { useDraft } from "../drafts";
import { eventPrefill, situationOf } from "../guide";
import { record, saving } from "../record";
import { type Route, route } from "../router";
import { EMPTY, fromBody, type Question, type SafetyDraft, toBody } from "../safety/record";
import { SafetyFoot, SafetyForm } from "../safety/SafetyForm";
import { shown } from "../steps/flow";

interface Draft extends SafetyDraft {
  step: string | null;
  optic: string | null;
  eye: Eye | null;
  at: Question;
}

/** Where in the case the person was: the step that the address names, its eye and optic, else the case's own. */
export function whereOf(
  here: Route,
  state: CaseState,
  held: Held | null,
): Pick<Draft, "step" | "optic" | "eye"> {
  const asked = here.page === "case" && here.screen === "step" ? (here.tail[0] ?? null) : null;
  const onSteps = here.page === "case" && here.screen === "step" && state.state === "open" && held !== null;
  const key = onSteps
    ? (shown(stepsFor(held.pack, situationOf(state)), state.steps, asked, state.optic)?.key ?? null)
    : asked;
  const [step = "", eye = "", optic = ""] = key?.split("|") ?? [];
  const named = here.page === "case" ? here.tail.find((t) => t === "right" || t === "left") : undefined;
  return {
    step: step || null,
    optic: optic || state.optic,
    eye: ((eye || named) as Eye | undefined) ?? (state.eyes.length === 1 ? (state.eyes[0] ?? null) : null),
  };
}

/** A safety event or near miss, in few taps: what, whether it reached the patient, harm, signs, done, told. */
export function Event({
  state,
  held,
  onClose,
}: {
  state: CaseState;
  held: Held | null;
  onClose: () => void;
}) {
  const blank: Draft = { ...EMPTY, ...whereOf(route.value, state, held), at: "what" };
  const [d, change, drop] = useDraft<Draft>(`event/${state.id}`, blank);
  // what was half entered and left comes back; it may belong to something else, so it can be begun anew
  const [halfway] = useState(d.what !== null);
  const { at } = d;
  const setAt = (question: Question) => change({ at: question });

  useEffect(() => {
    const given = eventPrefill.value;
    if (!given) return;
    eventPrefill.value = null;
    const { step = null, optic = state.optic, eye = null } = given;
    const first =
      given.what === undefined ? "what" : given.reached_patient === undefined ? "reached" : "harm";
    change({ ...fromBody(given), step, optic, eye, at: first });
  }, []);

  const note = async () => {
    const body = toBody(d, { step: d.step, optic: d.optic, eye: d.eye });
    if (!body || !(await record("safety.noted", body, { case: state.id }))) return;
    drop();
    onClose();
  };

  return (
    <Sheet
      title="Event"
      onClose={onClose}
      foot={
        held && (
          <SafetyFoot
            draft={d}
            at={at}
            onAt={setAt}
            onRecord={() => void note()}
            busy={saving.value > 0}
            word={at === "note" ? "Record the event" : "Record now"}
          />
        )
      }
    >
      {held ? (
        <div class="stack">
          {halfway && d.what !== null && (
            <div class="row-ends">
              <p class="quiet t-small">A record that was begun earlier.</p>
              <Button kind="quiet" onClick={() => change(blank)}>
                Start anew
              </Button>
            </div>
          )}
          <SafetyForm draft={d} onChange={change} choices={held.pack.choices} at={at} onAt={setAt} />
        </div>
      ) : (
        <Notice kind="warn" title="No guidance on this phone">
          <p>
            Its lists are missing, so an event cannot be picked. Write it down and log it when guidance has
            come.
          </p>
        </Notice>
      )}
    </Sheet>
  );
}
