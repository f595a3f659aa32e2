import { useEffect, useState } from "preact/hooks";
import type { CaseState, Eye } from "../../log";
import { type Held, stepsFor } from "../../pack";
import { Button, Notice, Sheet } from "../../ui";
import { app, isLocked } from "../app";
import { useDraft } from "../drafts";
import { eventPrefill, situationOf } from "../guide";
import { later } from "../later";
import { DYE_REACTION } from "../reaction/begin";
import { dyeSeconds } from "../reaction/dyeClocks";
import { record, saving } from "../record";
import { type Route, route } from "../router";
import { Quick } from "../safety/Quick";
import { caughtUp, EMPTY, fromBody, nextQuestion, placeOf, type SafetyDraft, toBody } from "../safety/record";
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
  // what a locked phone knows of a case says nothing of where it is
  if (isLocked()) return { step: null, optic: null, eye: null };
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

/** A safety event or near miss. The first answer puts it on record, with where in the visit it was: losing the phone in
 * mid-sheet loses nothing. Each later answer amends that line; the rest can be told at once, or later from the list of
 * what is to finish. */
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
  // what a reload or a crash left here comes back; it may belong to something else, so it can be begun anew
  const [halfway, setHalfway] = useState(d.line !== null || d.what !== null);
  const noted = state.safety.find((s) => s.line === d.line);

  useEffect(() => {
    const given = eventPrefill.value;
    if (!given) {
      if (noted) change(caughtUp(d, noted.body));
      return;
    }
    eventPrefill.value = null;
    setHalfway(false);
    const { step = blank.step, optic = state.optic, eye = null, reaction = null } = given;
    const now = { ...blank, ...fromBody(given), step, optic, eye, reaction };
    // the press that led here said what happened; an emergency is on record by itself already
    if (now.what !== null && reaction === null) void answer({}, now);
    else change(now);
  }, []);

  /** Saves it first, then asks on: a question is answered only once its answer is on the disk. */
  const answer = async (given: Partial<SafetyDraft>, from: Draft = d) => {
    const now = { ...from, ...given };
    const { step, optic, eye } = now;
    const running = state.reactions.findLast((r) => r.ended === null)?.line || null;
    const dye_s = dyeSeconds(state, app.log.device.value?.id ?? null, readingsNow());
    const reaction = now.reaction ?? (now.what === DYE_REACTION ? running : null);
    const first = { step, optic, eye, reaction, dye_s, late: state.state === "closed" };
    const body = toBody(now, now.line === null ? first : placeOf(noted?.body ?? first));
    if (body === null) return change(given);
    if (now.line === null) {
      const saved = await record("safety.noted", body, { case: state.id });
      // the draft follows the disk: a reload between the two finds the event on the list, and never writes it twice
      change(saved ? { ...now, line: saved.id } : from);
      return;
    }
    const told = { line: now.line, body: body as never, why: "answered after the first press" };
    if (await record("line.amended", told, { case: state.id })) change(given);
  };
  const undo = async () => {
    const said = { line: d.line ?? "", body: null, why: "pressed by mistake" };
    if (await record("line.amended", said, { case: state.id })) leave();
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
  const at = nextQuestion(d);
  const on = d.line !== null;
  const id = noted?.body.what ?? d.what;
  const what = held.pack.choices.safety_what.find((w) => w.id === id)?.text ?? "";
  const busy = saving.value > 0;
  return (
    <Sheet title="Event" back={on ? "Later" : "Back"} onClose={leave}>
      <div class="stack">
        {on && (
          <Notice kind="done" title={`Recorded: ${what}`} loud>
            <p>
              {noted ? `At ${clock(noted.at)}. ` : ""}What is not told now stays on the list of what is to
              finish.
            </p>
            {at === null && (
              <Button wide onClick={leave}>
                The rest later
              </Button>
            )}
            <div class="links">
              {halfway ? (
                <Button kind="quiet" disabled={busy} onClick={() => change(blank)}>
                  This is another event
                </Button>
              ) : (
                at !== "what" && (
                  <Button kind="quiet" disabled={busy} onClick={() => change({ what: null })}>
                    It was something else
                  </Button>
                )
              )}
              <Button kind="quiet" disabled={busy} onClick={() => void undo()}>
                Pressed by mistake
              </Button>
            </div>
          </Notice>
        )}
        {!on && d.what !== null && (
          <div class="row-ends">
            <p class="strong">{what}</p>
            <Button kind="quiet" icon="back" onClick={() => change({ ...blank, reaction: d.reaction })}>
              Another event
            </Button>
          </div>
        )}
        {at !== null && (
          <Quick at={at} choices={held.pack.choices} busy={busy} onAnswer={(a) => void answer(a)} />
        )}
        {d.line !== null && at === null && noted && (
          <Details state={state} held={held} line={d.line} onSaved={leave} />
        )}
      </div>
    </Sheet>
  );
}
