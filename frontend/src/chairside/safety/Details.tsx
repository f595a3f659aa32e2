import { useEffect, useRef } from "preact/hooks";
import type { CaseState } from "../../log";
import type { Held } from "../../pack";
import { Button, Fold, Notice, PickMany, PickOne, TextArea, TextField } from "../../ui";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { signText } from "../tell/reactions";
import { clock } from "../words";
import { fromBody, hoursFault, placeOf, type SafetyDraft, toBody, unsaid } from "./record";

const REACHED = [
  { id: "yes", text: "Yes" },
  { id: "no", text: "No", help: "A near miss." },
  { id: "unknown", text: "Not known yet" },
];

/** The rest of a safety event that stands in the log: signs, what was done, who was told. Added as a line of its own. */
export function Details({
  state,
  held,
  line,
  onSaved,
}: {
  state: CaseState;
  held: Held;
  line: string;
  onSaved?: () => void;
}) {
  const noted = state.safety.find((s) => s.line === line);
  const before = fromBody(noted?.body ?? {});
  const [d, change, drop] = useDraft<SafetyDraft>(`details/${state.id}/${line}`, before);
  const { choices } = held.pack;
  // said to be the same thing as an emergency while this is half told: that one's signs are its signs too
  const joined = noted?.body.reaction ?? null;
  const known = useRef(joined);
  useEffect(() => {
    if (known.current !== joined) change({ signs: [...new Set([...d.signs, ...before.signs])] });
    known.current = joined;
  }, [joined]);
  if (!noted) return <Notice>It was said not to have happened.</Notice>;
  const { late = false } = noted.body;
  // signs that were pressed in an emergency have words of their own list
  const others = d.signs
    .filter((id) => !choices.signs.some((s) => s.id === id))
    .map((id) => ({ id, text: signText(held.pack, id) }));
  const lacks = unsaid(d, late);
  const fault = hoursFault(d);

  const save = async () => {
    const body = toBody(d, placeOf(noted.body));
    if (!(await record("line.amended", { line, body: body as never, why: "more told" }, { case: state.id })))
      return;
    drop();
    onSaved?.();
  };
  const open = before.reached !== "yes" && before.reached !== "no";
  const harmless = d.reached !== "no" && before.harm === null;
  const reached = (
    <PickOne
      legend="Did it reach the patient?"
      options={REACHED}
      value={d.reached}
      onPick={(id) => change({ reached: id as SafetyDraft["reached"] })}
    />
  );
  const harm = (
    <PickOne
      legend="Harm"
      hint={`Scale: ${choices.harm_scale}`}
      options={[...choices.harm, { id: "unknown", text: "Not known yet" }]}
      value={d.harm ?? "unknown"}
      onPick={(id) => change({ harm: id as SafetyDraft["harm"] })}
    />
  );
  return (
    <div class="stack">
      {late && (
        <>
          <TextField
            label="When was it?"
            hint="In the patient's words: “that evening, at supper”."
            value={d.when}
            onText={(when) => change({ when })}
            maxLength={200}
            warning={looksLikePerson(d.when) ?? undefined}
          />
          {state.dye.injected.length > 0 && (
            <TextField
              label="Hours after the dye, about"
              hint={`Injection: ${clock(state.dye.injected.at(-1)?.at ?? state.openedAt)}.`}
              inputMode="decimal"
              value={d.hours}
              onText={(hours) => change({ hours })}
              error={fault ?? undefined}
            />
          )}
        </>
      )}
      {open && reached}
      {harmless && harm}
      {d.reached !== "no" && (
        <PickMany
          legend="Signs, as seen or told"
          hint="Pick all that hold. They are kept as signs; nothing is graded here."
          across
          options={[...choices.signs, ...others]}
          values={d.signs}
          onPick={(signs) => change({ signs })}
        />
      )}
      <PickMany
        legend="What was done?"
        across
        options={choices.safety_done}
        values={d.done}
        onPick={(done) => change({ done })}
      />
      <PickMany
        legend="Who was told?"
        across
        options={choices.told}
        values={d.told}
        onPick={(told) => change({ told })}
      />
      <TextArea
        label="Anything else?"
        hint={`In your own words, or nothing. ${NO_NAMES}`}
        value={d.note}
        onText={(note) => change({ note })}
        maxLength={1000}
        warning={looksLikePerson(d.note) ?? undefined}
      />
      <Fold word="Change what was recorded first">
        <div class="stack">
          <PickOne
            legend="What happened?"
            across
            options={choices.safety_what}
            value={d.what}
            onPick={(what) => change({ what })}
          />
          {!open && reached}
          {d.reached !== "no" && !harmless && harm}
        </div>
      </Fold>
      {lacks.length > 0 && (
        <PickMany
          legend={`Not said: ${lacks.join(", ")}`}
          options={[{ id: "finished", text: "More is not known", help: "The list stops asking for it." }]}
          values={d.finished ? ["finished"] : []}
          onPick={(ids) => change({ finished: ids.includes("finished") })}
        />
      )}
      <Button kind="main" big wide disabled={saving.value > 0 || fault !== null} onClick={() => void save()}>
        Save
      </Button>
    </div>
  );
}
