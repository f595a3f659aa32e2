import { useEffect, useState } from "preact/hooks";
import type { CaseState, Eye } from "../../log";
import type { Held } from "../../pack";
import { Notice, Sheet } from "../../ui";
import { useDraft } from "../drafts";
import { eventPrefill } from "../guide";
import { record, saving } from "../record";
import { type Route, route } from "../router";
import { EMPTY, fromBody, type Question, type SafetyDraft, toBody } from "../safety/record";
import { SafetyFoot, SafetyForm } from "../safety/SafetyForm";

interface Draft extends SafetyDraft {
  step: string | null;
  optic: string | null;
  eye: Eye | null;
}

/** Where in the case the person was: the step that the address names, its eye and optic, else the case's own. */
export function whereOf(here: Route, state: CaseState): Pick<Draft, "step" | "optic" | "eye"> {
  const key = here.page === "case" && here.screen === "step" ? (here.tail[0] ?? null) : null;
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
  const [d, change, drop] = useDraft<Draft>(`event/${state.id}`, {
    ...EMPTY,
    ...whereOf(route.value, state),
  });
  const [at, setAt] = useState<Question>(d.what === null ? "what" : "reached");

  useEffect(() => {
    const given = eventPrefill.value;
    if (!given) return;
    eventPrefill.value = null;
    const { step = null, optic = state.optic, eye = null } = given;
    change({ ...fromBody(given), step, optic, eye });
    setAt(given.what === undefined ? "what" : given.reached_patient === undefined ? "reached" : "harm");
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
        <SafetyForm draft={d} onChange={change} choices={held.pack.choices} at={at} onAt={setAt} />
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
