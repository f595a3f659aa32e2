import { useEffect, useState } from "preact/hooks";
import type { CaseState, Eye } from "../../log";
import { type Held, stepsFor } from "../../pack";
import { Button, Notice, Sheet } from "../../ui";
import { app } from "../app";
import { useDraft } from "../drafts";
import { eventPrefill, situationOf } from "../guide";
import { later } from "../later";
import { dyeSeconds } from "../reaction/dyeClocks";
import { record, saving } from "../record";
import { type Route, route } from "../router";
import { Quick } from "../safety/Quick";
import { EMPTY, fromBody, nextQuestion, type SafetyDraft, toBody } from "../safety/record";
import { readingsNow } from "../series/keeping";
import { shown } from "../steps/flow";
import { clock } from "../words";

// only what comes after the event is on record
const Details = later(() => import("../further").then((m) => m.Details));

interface Draft extends SafetyDraft {
  step: string | null;
  optic: string | null;
  eye: Eye | null;
  reaction: string | null;
  /** The event's own line, once it stands in the log. */
  line: string | null;
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

/** A safety event or near miss: what, whether it reached the patient, harm. With the last of these it is on record,
 * with where in the visit it was; the rest can be told at once, or later from the list of what is to finish. */
export function Event({
  state,
  held,
  onClose,
}: {
  state: CaseState;
  held: Held | null;
  onClose: () => void;
}) {
  const blank: Draft = {
    ...EMPTY,
    ...whereOf(route.value, state, held),
    reaction: null,
    line: null,
  };
  const [d, change, drop] = useDraft<Draft>(`event/${state.id}`, blank);
  // what was half entered and left comes back; it may belong to something else, so it can be begun anew
  const [halfway] = useState(d.what !== null && d.line === null);
  const noted = state.safety.find((s) => s.line === d.line);

  useEffect(() => {
    const given = eventPrefill.value;
    if (!given) return;
    eventPrefill.value = null;
    const { step = blank.step, optic = state.optic, eye = null, reaction = null } = given;
    change({ ...fromBody(given), step, optic, eye, reaction, line: null });
  }, []);

  const answer = async (given: Partial<SafetyDraft>) => {
    const now = { ...d, ...given };
    change(given);
    if (nextQuestion(now) !== null) return;
    const { step, optic, eye, reaction } = d;
    const where = {
      step,
      optic,
      eye,
      reaction,
      dye_s: dyeSeconds(state, app.log.device.value?.id ?? null, readingsNow()),
    };
    const body = toBody(now, { ...where, late: state.state === "closed" });
    const saved = body && (await record("safety.noted", body, { case: state.id }));
    if (saved) change({ line: saved.id });
    else change({ harm: null, ...(now.reached === "no" ? { reached: null } : {}) }); // asked again: it is not saved
  };
  const leave = () => {
    if (d.line !== null) drop();
    onClose();
  };

  if (!held) {
    return (
      <Sheet title="Event" onClose={onClose}>
        <Notice kind="warn" title="No guidance on this phone">
          <p>
            Its lists are missing, so an event cannot be picked. Write it down and log it when guidance has
            come.
          </p>
        </Notice>
      </Sheet>
    );
  }
  const at = d.line === null ? nextQuestion(d) : null;
  const what = held.pack.choices.safety_what.find((w) => w.id === d.what)?.text ?? "";
  return (
    <Sheet title="Event" back={d.line === null ? "Back" : "Later"} onClose={leave}>
      <div class="stack">
        {at !== null && d.what !== null && (
          <div class="row-ends">
            <p class="strong">{what}</p>
            <Button kind="quiet" icon="back" onClick={() => change({ ...blank, reaction: d.reaction })}>
              {halfway ? "Start anew" : "Another event"}
            </Button>
          </div>
        )}
        {halfway && at !== null && d.what !== null && (
          <p class="quiet t-small">A record that was begun earlier.</p>
        )}
        {at !== null && (
          <Quick
            at={at}
            choices={held.pack.choices}
            busy={saving.value > 0}
            onAnswer={(a) => void answer(a)}
          />
        )}
        {d.line === null && at === null && (
          <Button kind="main" big wide disabled={saving.value > 0} onClick={() => void answer({})}>
            Record: {what}
          </Button>
        )}
        {d.line !== null && (
          <>
            <Notice kind="done" title={`Recorded: ${what}`} loud>
              <p>
                {noted ? `At ${clock(noted.at)}. ` : ""}Tell the rest now, or later: it stays on the list of
                what is to finish.
              </p>
              <Button onClick={leave}>The rest later</Button>
            </Notice>
            {noted && <Details state={state} held={held} line={d.line} onSaved={leave} />}
          </>
        )}
      </div>
    </Sheet>
  );
}
