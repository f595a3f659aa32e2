import { useState } from "preact/hooks";
import { cameAfter } from "../../log";
import { Button, LinkButton, Notice, PickMany, TextArea, TextField } from "../../ui";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { closeOver, hrefOf } from "../router";
import { seriesRuns, WHY_STOPPED } from "./begin";
import type { ReactionProps } from "./Emergency";
import { timeOfDay } from "./remind";

interface Draft {
  to: string;
  note: string;
}

const MISTAKE = "opened by mistake";

/** Handing the patient over, and ending the record: back to the case, or no more imaging. */
export function End({ state, reaction }: ReactionProps) {
  const [d, change, drop] = useDraft<Draft>(`emergency-end/${state.id}`, { to: "", note: "" });
  const [mistake, setMistake] = useState(false);
  const last = state.seriesStopped.at(-1);
  const stop =
    last && last.body.why === WHY_STOPPED && cameAfter(state, last, reaction) && !seriesRuns(state)
      ? last
      : null;
  const [again, setAgain] = useState(false);
  const bare = reaction.signs.size + reaction.actions.length + reaction.readings.length === 0;

  const hand = async () => {
    if (await record("reaction.handed_over", { to: d.to.trim() }, { case: state.id })) change({ to: "" });
  };
  const end = async (outcome: "case_goes_on" | "case_stopped") => {
    if (!(await record("reaction.ended", { outcome, note: d.note.trim() }, { case: state.id }))) return;
    if (outcome === "case_goes_on" && again && !(await goOn())) return;
    drop();
    closeOver();
  };
  /** The series that this emergency stopped is laid again as it was; before any frame there is only the stop to undo. */
  const goOn = async () => {
    const laid = state.laid.at(-1);
    if (!laid) return withdraw(stop?.line ?? "", "the series goes on after the emergency");
    const { protocol, layout, eyes } = laid.body;
    return record("series.laid", { protocol, layout, eyes }, { case: state.id });
  };
  const withdraw = (line: string, why: string) =>
    record("line.amended", { line, body: null, why }, { case: state.id });
  const never = async () => {
    if (stop && !(await withdraw(stop.line, MISTAKE))) return;
    if (await withdraw(reaction.line, MISTAKE)) closeOver();
  };

  return (
    <>
      <section class="stack-tight" aria-labelledby="handing">
        <h2 id="handing">Handed over</h2>
        {reaction.handed && (
          <p>
            To <span class="strong">{reaction.handed.body.to}</span>, {timeOfDay(reaction.handed.at)}
          </p>
        )}
        <TextField
          label="To whom"
          hint="A role or initials, not a full name."
          value={d.to}
          onText={(to) => change({ to })}
          maxLength={60}
          warning={looksLikePerson(d.to) ?? undefined}
        />
        <Button
          wide
          icon="hand"
          disabled={d.to.trim() === "" || saving.value > 0}
          onClick={() => void hand()}
        >
          Log the handover
        </Button>
      </section>
      <section class="stack-tight" aria-labelledby="ending">
        <h2 id="ending">The emergency is over</h2>
        <p class="quiet t-small">
          Whether it is over, and whether imaging goes on, is for the clinician in charge to say. How bad it
          was is worked out only afterwards, from what was logged.
        </p>
        <TextArea
          label="Note (may stay empty)"
          hint={NO_NAMES}
          value={d.note}
          onText={(note) => change({ note })}
          maxLength={500}
          warning={looksLikePerson(d.note) ?? undefined}
        />
        {state.opened ? (
          <>
            {stop && (
              <PickMany
                legend="The series was stopped"
                options={[{ id: "again", text: "It goes on", help: "Its clock has run all the time." }]}
                values={again ? ["again"] : []}
                onPick={(ids) => setAgain(ids.length > 0)}
              />
            )}
            <Button big wide disabled={saving.value > 0} onClick={() => void end("case_goes_on")}>
              Over: back to the case
            </Button>
            <Button big wide kind="warn" disabled={saving.value > 0} onClick={() => void end("case_stopped")}>
              Over: no more imaging
            </Button>
          </>
        ) : (
          <Button big wide kind="warn" disabled={saving.value > 0} onClick={() => void end("case_stopped")}>
            Over
          </Button>
        )}
      </section>
      {bare && !mistake && (
        <Button kind="quiet" onClick={() => setMistake(true)}>
          It was opened by mistake
        </Button>
      )}
      {bare && mistake && (
        <Notice kind="warn" title="Nothing happened?">
          <p>It stays in the log as opened by mistake. A series that it stopped goes on.</p>
          <Button disabled={saving.value > 0} onClick={() => void never()}>
            Opened by mistake
          </Button>
        </Notice>
      )}
      {!state.opened && (
        <p class="t-small quiet">
          No case was open. It is logged by itself; say afterwards whose case it belongs to.
        </p>
      )}
      {state.opened && (
        <LinkButton href={hrefOf(state.id, "step")} kind="quiet">
          Leave this page; the emergency goes on
        </LinkButton>
      )}
    </>
  );
}
