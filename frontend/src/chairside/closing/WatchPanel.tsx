/** The watch after the dye: how long the clinic's rules ask for, counted from the injection, and how it ended. */
import "../dye/dye.css";
import { useState } from "preact/hooks";
import { Button, Fold, Notice, Segmented, TextArea } from "../../ui";
import { app } from "../app";
import { useDraft } from "../drafts";
import type { PanelProps } from "../guide";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { openOver } from "../router";
import { useReadings } from "../Since";
import { readingsNow } from "../series/keeping";
import { clockText } from "../tell/series";
import { clock, count } from "../words";
import { leftMs, type WatchPlan, watched, watchPlan } from "./watch";

export function WatchPanel({ state, held, onSaved }: PanelProps) {
  const plan = watchPlan(held.pack, state);
  const started = state.dye.watches.at(-1);
  const caution = held.pack.watch?.caution ?? "";
  if (plan === null) {
    const dyed = state.dye.injected.length > 0;
    return (
      <div class="stack">
        <p>
          {dyed
            ? "This guidance has no rule for how long to watch. Go by the clinic's own paper, and ask the physician."
            : "No dye was injected in this case, so no watch is counted."}
        </p>
        <Button kind="main" big wide onClick={() => void onSaved(dyed ? "by the clinic's paper" : "no dye")}>
          {dyed ? "Watched as the paper says" : "Go on"}
        </Button>
      </div>
    );
  }
  const begin = (): void =>
    void record(
      "watch.started",
      { minutes: plan.minutes, rules: plan.rules.map((r) => r.happened), since: plan.since },
      { case: state.id },
    );
  const longer = started !== undefined && started.body.minutes < plan.minutes;
  return (
    <div class="stack">
      <Left state={state} plan={plan} />
      <ul class="list">
        {plan.rules.map((r) => (
          <li key={r.happened}>
            <span class="strong number">{r.minutes} min</span> {r.text}
          </li>
        ))}
      </ul>
      {caution !== "" && (
        <Notice kind="warn">
          <p>{caution}</p>
        </Notice>
      )}
      {started === undefined || longer ? (
        <Button kind="main" big wide disabled={saving.value > 0} onClick={begin}>
          {longer ? `Watch for ${plan.minutes} min now` : "Begin the watch"}
        </Button>
      ) : (
        <End key={started.line} state={state} plan={plan} onSaved={onSaved} />
      )}
      <Fold word="Where the minutes come from">
        <ul class="reasons">
          {plan.rules.map((r) => (
            <li key={r.happened} class="t-small">
              {r.minutes} min: {r.source}
            </li>
          ))}
        </ul>
      </Fold>
    </div>
  );
}

function Left({ state, plan }: Pick<PanelProps, "state"> & { plan: WatchPlan }) {
  const readings = useReadings(500);
  const now = Date.now();
  const { seconds, certain } = watched(state, app.log.device.value?.id ?? null, readings);
  const left = leftMs(plan, seconds);
  const until = clock(now + left, now);
  return (
    <div>
      <p>
        {left > 0
          ? `Watched until ${until}. Left:`
          : `The ${plan.minutes} min were over at ${until}. Beyond:`}
      </p>
      <p class="dye-clock" role="timer" aria-label={left > 0 ? "Left of the watch" : "Beyond the watch"}>
        {clockText(Math.abs(left) / 1000)}
      </p>
      {!certain && (
        <Notice kind="warn" title="The clock is uncertain">
          <p>
            Both of the phone's clocks have failed since the injection. This counts by the one that says less.
          </p>
        </Notice>
      )}
      <p class="quiet">
        {count(plan.minutes, "minute", "minutes")} from the injection at {clock(plan.since, now)}.
      </p>
    </div>
  );
}

function End({ state, plan, onSaved }: Pick<PanelProps, "state" | "onSaved"> & { plan: WatchPlan }) {
  const device = app.log.device.value?.id ?? null;
  const readings = useReadings(5000);
  const [draft, change, drop] = useDraft(`watch/${state.id}`, { why: "" });
  const [well, setWell] = useState<"yes" | "no" | null>(null);
  const early = leftMs(plan, watched(state, device, readings).seconds) > 0;
  const lacksWhy = early && draft.why.trim().length < 3;
  const end = async (): Promise<void> => {
    if (well === null || lacksWhy) return;
    const after_min = Math.max(0, Math.floor(watched(state, device, readingsNow()).seconds / 60));
    const body = { after_min, early, well: well === "yes", why: draft.why.trim() };
    if ((await record("watch.ended", body, { case: state.id })) === null) return;
    drop();
    await onSaved(`${after_min} min${early ? ", ended early" : ""}`);
  };
  return (
    <section class="stack" aria-label="End of the watch">
      <Segmented<"yes" | "no">
        legend="Look and ask: is the patient well?"
        options={[
          { id: "yes", text: "Well" },
          { id: "no", text: "Not well" },
        ]}
        value={well}
        onPick={setWell}
      />
      {well === "no" && (
        <Notice kind="danger" title="Nobody goes home unwell" loud>
          <p>Call the clinician in charge. If it is serious, use Emergency below.</p>
          <Button icon="event" onClick={() => openOver("event")}>
            Record what is seen
          </Button>
        </Notice>
      )}
      {(early || well === "no") && (
        <TextArea
          label={early ? "Why it ends early, and who decided" : "Who took over"}
          hint={`A role or initials. ${NO_NAMES}`}
          value={draft.why}
          onText={(why) => change({ why })}
          maxLength={300}
          warning={looksLikePerson(draft.why) ?? undefined}
        />
      )}
      <Button
        kind={early ? "plain" : "main"}
        big
        wide
        disabled={
          well === null || lacksWhy || (well === "no" && draft.why.trim().length < 3) || saving.value > 0
        }
        onClick={() => void end()}
      >
        {early ? "End the watch early" : "The watch is over"}
      </Button>
      {early && <p class="t-small quiet">Early only on the word of the person who may decide it.</p>}
    </section>
  );
}
