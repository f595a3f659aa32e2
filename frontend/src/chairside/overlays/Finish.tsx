import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import { type Held, type PlannedStep, stepsFor } from "../../pack";
import { Button, Fold, Notice, PickOne, Segmented, Sheet, TextArea, TextField } from "../../ui";
import { useDraft } from "../drafts";
import { situationOf } from "../guide";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { go, goCase } from "../router";
import { openOnes, openStopSteps, openWords } from "../screening/course";
import { roundWords } from "../steps/round";
import { OUTCOME_WORD } from "../tell/types";
import { count } from "../words";

type Outcome = keyof typeof OUTCOME_WORD;

/** Closing a case, or handing it over. A *must* that is undone needs a reason before the case can be closed. */
export function Finish({
  state,
  held,
  onClose,
}: {
  state: CaseState;
  held: Held | null;
  onClose: () => void;
}) {
  const [way, setWay] = useState<"close" | "hand">("close");
  return (
    <Sheet title="Close or hand over" onClose={onClose}>
      <div class="stack">
        <Segmented<"close" | "hand">
          legend="What now?"
          hideLegend
          options={[
            { id: "close", text: "Close the case" },
            { id: "hand", text: "Hand it over" },
          ]}
          value={way}
          onPick={setWay}
        />
        {way === "close" ? <Close state={state} held={held} /> : <HandOver state={state} />}
      </div>
    </Sheet>
  );
}

/** Steps of this case that have neither been done nor passed with a reason. */
function undone(state: CaseState, held: Held | null): PlannedStep[] {
  return held ? stepsFor(held.pack, situationOf(state)).filter((p) => !state.steps.has(p.key)) : [];
}

/** What stops the dye and has not been settled: a case is not completed over it. */
function stillOpen(held: Held, state: CaseState): string[] {
  return [
    ...openStopSteps(held.pack, state).map((p) => p.step.text),
    ...openOnes(held.pack, state).map(openWords),
  ];
}

function Close({ state, held }: { state: CaseState; held: Held | null }) {
  const [draft, change, drop] = useDraft<{
    outcome: Outcome | null;
    reason: string | null;
    own: Record<string, string>;
    note: string;
  }>(`finish/${state.id}`, { outcome: null, reason: null, own: {}, note: "" });
  const { outcome, reason, own, note } = draft;
  const open = undone(state, held);
  const musts = open.filter((p) => p.step.weight === "must");
  const shoulds = open.filter((p) => p.step.weight === "should").length;
  const stops = held && state.dye.injected.length === 0 ? stillOpen(held, state) : [];
  const stopped = outcome === "completed" && stops.length > 0;
  const without = musts.filter((p) => !(own[p.key] ?? reason));
  const paused = state.pauses.at(-1)?.body.state === "started";
  const openEvents = state.safety.filter((s) => s.body.reached_patient !== false && s.body.harm === null);

  const close = async () => {
    if (outcome === null || without.length > 0 || stopped) return;
    for (const p of musts) {
      const body = {
        step: p.step.id,
        reason: own[p.key] ?? reason ?? "",
        note: "",
        eye: p.eye,
        optic: p.optic,
      };
      if (!(await record("step.skipped", body, { case: state.id }))) return;
    }
    if (paused && !(await record("pause.noted", { state: "ended", why: "case closed" }, { case: state.id })))
      return;
    if (!(await record("case.closed", { outcome, note: note.trim() }, { case: state.id }))) return;
    drop();
    go({ page: "home" });
  };

  return (
    <div class="stack">
      <PickOne
        legend="How did it end?"
        options={[
          { id: "completed", text: OUTCOME_WORD.completed, help: "What was asked for has been taken." },
          { id: "stopped", text: OUTCOME_WORD.stopped, help: "Begun, and ended before all was taken." },
          // once a dye is in, it was begun
          ...(state.dye.injected.length > 0
            ? []
            : [
                {
                  id: "cancelled",
                  text: OUTCOME_WORD.cancelled,
                  help: "Not really begun. It is left out of every count.",
                },
              ]),
        ]}
        value={outcome}
        onPick={(id) => change({ outcome: id as Outcome | null })}
      />
      {musts.length > 0 && held && (
        <section class="stack" aria-labelledby="musts">
          <h2 id="musts">
            {count(musts.length, "must step is", "must steps are")} neither done nor given a reason
          </h2>
          <PickOne
            legend={musts.length > 1 ? "One reason for all without their own" : "Reason"}
            across
            clearable
            options={held.pack.choices.skip_reasons}
            value={reason}
            onPick={(id) => change({ reason: id })}
          />
          <Fold word={`Show ${musts.length === 1 ? "it" : `all ${musts.length}`}`} open={musts.length < 4}>
            <ul class="list">
              {musts.map((p) => (
                <li key={p.key} class="stack-tight">
                  <span class="strong">{p.step.text}</span>
                  <span class="quiet t-small">{roundWords(held.pack, p)}</span>
                  <span class="row">
                    <Button onClick={() => goCase(state.id, "step", p.key)}>Go to it</Button>
                    <select
                      aria-label={`Reason for “${p.step.text}”`}
                      class="reason-pick"
                      value={own[p.key] ?? ""}
                      onChange={(event) => change({ own: { ...own, [p.key]: event.currentTarget.value } })}
                    >
                      <option value="">{reason ? "As all others" : "Reason…"}</option>
                      {held.pack.choices.skip_reasons.map((r) => (
                        <option key={r.id} value={r.id}>
                          {r.text}
                        </option>
                      ))}
                    </select>
                  </span>
                </li>
              ))}
            </ul>
          </Fold>
        </section>
      )}
      {shoulds > 0 && (
        <p class="quiet">
          {count(shoulds, "step", "steps")} that should be done stayed open. They need no reason.
        </p>
      )}
      {openEvents.length > 0 && (
        <Notice kind="warn" title="An event has no harm stated yet">
          <p>It can be closed so. Amend the event's line when it is known.</p>
        </Notice>
      )}
      {state.comfort.length === 0 && outcome !== "cancelled" && (
        <Notice>
          <p>No comfort score was noted. Ask before the patient leaves.</p>
        </Notice>
      )}
      <TextArea
        label="Note (may stay empty)"
        hint={NO_NAMES}
        value={note}
        onText={(text) => change({ note: text })}
        maxLength={500}
        warning={looksLikePerson(note) ?? undefined}
      />
      {stopped && (
        <Notice kind="danger" title="A stop is open: this case cannot be completed so" loud>
          <ul class="reasons">
            {stops.map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
          <p>Close it as stopped or cancelled, have the stop released, or go on without dye.</p>
        </Notice>
      )}
      {outcome !== null && without.length > 0 && (
        <p class="field-error field-warning" role="status">
          {count(without.length, "must step still needs", "must steps still need")} a reason.
        </p>
      )}
      <Button
        kind="main"
        big
        wide
        disabled={outcome === null || without.length > 0 || stopped || saving.value > 0}
        onClick={() => void close()}
      >
        Close the case
      </Button>
    </div>
  );
}

function HandOver({ state }: { state: CaseState }) {
  const [{ to, note }, change, drop] = useDraft(`handover/${state.id}`, { to: "", note: "" });
  const hand = async () => {
    const body = { to: to.trim(), note: note.trim() };
    if (!(await record("case.handed_over", body, { case: state.id }))) return;
    drop();
    go({ page: "home" });
  };
  return (
    <div class="stack">
      <TextField
        label="To whom"
        hint="A role, initials or another phone, not a full name."
        value={to}
        onText={(text) => change({ to: text })}
        maxLength={60}
        warning={looksLikePerson(to) ?? undefined}
      />
      <TextArea
        label="What they should know (may stay empty)"
        hint={NO_NAMES}
        value={note}
        onText={(text) => change({ note: text })}
        maxLength={500}
        warning={looksLikePerson(note) ?? undefined}
      />
      <p class="quiet">
        The other phone sees the case after both have reached the server. Until then say it in person: eye,
        optic, dye, what is done, what is next.
      </p>
      <Button
        kind="main"
        big
        wide
        icon="hand"
        disabled={to.trim() === "" || saving.value > 0}
        onClick={() => void hand()}
      >
        Hand over
      </Button>
    </div>
  );
}
