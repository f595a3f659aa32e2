import { useEffect, useRef } from "preact/hooks";
import type { Noted } from "../../log";
import type { ReactionAction } from "../../types.gen";
import { Button, TextField } from "../../ui";
import { app } from "../app";
import { useDraft } from "../drafts";
import { looksLikePerson } from "../names";
import { record, saving } from "../record";
import { sinceText } from "../Since";
import { readingsNow } from "../series/keeping";
import { actionText } from "../tell/reactions";
import type { ReactionProps } from "./Emergency";
import { reactionClockAt, timeOfDay } from "./remind";

interface Draft {
  /** The line that is being told more of. */
  line: string | null;
  drug: string;
  dose: string;
  by: string;
  detail: string;
}

const BLANK: Draft = { line: null, drug: "", dose: "", by: "", detail: "" };

/** What was done: one tap logs it with its time. What was given, how much and by whom is added to the line after. */
export function Done({ state, reaction, tables, held }: ReactionProps) {
  const pack = held?.pack ?? null;
  const readings = readingsNow();
  const device = app.log.device.value?.id ?? null;
  const [d, change] = useDraft<Draft>(`emergency-done/${state.id}`, BLANK);
  const asksOf = (id: string) => tables.actions.find((a) => a.id === id)?.asks ?? "nothing";
  const open = reaction.actions.find((a) => a.line === d.line);

  const shown = useRef<HTMLElement>(null);
  useEffect(() => {
    if (open) shown.current?.scrollIntoView({ block: "center" });
  }, [open?.line]);

  const tap = async (action: string) => {
    const saved = await record("reaction.action", { action }, { case: state.id });
    if (saved && asksOf(action) !== "nothing") change({ ...BLANK, line: saved.id });
  };
  const add = async (of: Noted<ReactionAction>) => {
    const { salt: _salt, ...before } = of.body;
    const { drug, dose, by, detail } = d;
    const body = {
      ...before,
      drug: drug.trim(),
      dose: dose.trim(),
      by: by.trim(),
      detail: detail.trim(),
    };
    const said = { line: of.line, body, why: "told after the tap" };
    if (await record("line.amended", said, { case: state.id })) change(BLANK);
  };
  const undo = (of: Noted<ReactionAction>) =>
    record("line.amended", { line: of.line, body: null, why: "pressed by mistake" }, { case: state.id });

  return (
    <>
      {open && (
        <section class="card" aria-labelledby="told-more" ref={shown}>
          <h2 id="told-more">
            {actionText(pack, open.body.action)}, {timeOfDay(open.at)}
          </h2>
          <p class="t-small quiet">As said aloud by whoever does it. Its time is logged already.</p>
          {asksOf(open.body.action) === "drug" ? (
            <>
              <TextField label="What" value={d.drug} onText={(drug) => change({ drug })} maxLength={60} />
              <TextField label="How much" value={d.dose} onText={(dose) => change({ dose })} maxLength={60} />
            </>
          ) : (
            <TextField
              label="Detail"
              value={d.detail}
              onText={(detail) => change({ detail })}
              maxLength={300}
            />
          )}
          <TextField
            label="By whom"
            hint="A role or initials."
            value={d.by}
            onText={(by) => change({ by })}
            maxLength={40}
            warning={looksLikePerson(d.by) ?? undefined}
          />
          <div class="foot-pair">
            <Button kind="main" disabled={saving.value > 0} onClick={() => void add(open)}>
              Add
            </Button>
            <Button onClick={() => change(BLANK)}>Later</Button>
          </div>
        </section>
      )}
      <p class="quiet">One press logs it with its time.</p>
      <div class="emergency-grid">
        {tables.actions.map((a) => {
          const last = reaction.actions.findLast((done) => done.body.action === a.id);
          return (
            <Button key={a.id} onClick={() => void tap(a.id)}>
              {a.text}
              {last && <span class="choice-help">{timeOfDay(last.at)}</span>}
            </Button>
          );
        })}
      </div>
      {reaction.actions.length > 0 && (
        <section class="stack-tight" aria-labelledby="logged">
          <h2 id="logged">Logged</h2>
          <ol class="list">
            {[...reaction.actions].reverse().map((a) => (
              <li key={a.line} class="row-ends">
                <span>
                  <span class="number">{timeOfDay(a.at)}</span>{" "}
                  <span class="strong">{actionText(pack, a.body.action)}</span>
                  <span class="choice-help">
                    {[
                      `${sinceText(reactionClockAt(reaction, device, a, readings))} in`,
                      a.body.drug,
                      a.body.dose,
                      a.body.by ? `by ${a.body.by}` : "",
                      a.body.detail,
                    ]
                      .filter(Boolean)
                      .join(" · ")}
                  </span>
                </span>
                <span class="row">
                  {asksOf(a.body.action) !== "nothing" && a.line !== d.line && (
                    <Button
                      kind="quiet"
                      onClick={() =>
                        change({
                          line: a.line,
                          drug: a.body.drug ?? "",
                          dose: a.body.dose ?? "",
                          by: a.body.by ?? "",
                          detail: a.body.detail ?? "",
                        })
                      }
                    >
                      Tell more
                    </Button>
                  )}
                  <Button
                    kind="quiet"
                    aria-label={`Undo: ${actionText(pack, a.body.action)}, ${timeOfDay(a.at)}`}
                    onClick={() => void undo(a)}
                  >
                    Undo
                  </Button>
                </span>
              </li>
            ))}
          </ol>
        </section>
      )}
    </>
  );
}
