import type { CaseState } from "../../log";
import type { Held } from "../../pack";
import { Button, Notice, Sheet } from "../../ui";
import { eventPrefill } from "../guide";
import { DYE_REACTION } from "../reaction/begin";
import { drugActions } from "../reaction/tables";
import { record, saving } from "../record";
import { openOver } from "../router";
import { Details } from "../safety/Details";
import { clock } from "../words";
import { Attach } from "./Attach";
import { DrugMore } from "./DrugMore";
import { EndLate } from "./EndLate";
import { type Unfinished, unfinishedOf } from "./list";
import { unfinishedWords } from "./words";

/** What of this case is still to be told, one after the other. Everything here can wait, but not be forgotten. */
export function UnfinishedSheet({
  state,
  held,
  onClose,
}: {
  state: CaseState;
  held: Held | null;
  onClose: () => void;
}) {
  const pack = held?.pack ?? null;
  const list = unfinishedOf(state, drugActions(pack));
  return (
    <Sheet title="To finish" onClose={onClose}>
      <div class="stack-wide">
        {list.length === 0 && (
          <Notice kind="done" title="Nothing is left to finish here" loud>
            <Button onClick={onClose}>Back</Button>
          </Notice>
        )}
        {list.map((item) => {
          const told = unfinishedWords(item, pack);
          return (
            <section key={`${item.kind}${item.line}`} class="stack" aria-label={told.title}>
              <div>
                <h2>
                  {told.title}, {clock(item.at)}
                </h2>
                <p class="quiet t-small">{told.detail}</p>
              </div>
              <One item={item} state={state} held={held} />
            </section>
          );
        })}
      </div>
    </Sheet>
  );
}

function One({ item, state, held }: { item: Unfinished; state: CaseState; held: Held | null }) {
  switch (item.kind) {
    case "event":
      return held ? (
        <Details state={state} held={held} line={item.line} />
      ) : (
        <p>The guidance with its lists is not on this phone.</p>
      );
    case "drug":
      return <DrugMore state={state} line={item.line} />;
    case "loose":
      return <Attach state={state} onDone={() => undefined} />;
    case "unended":
      return <EndLate state={state} line={item.line} />;
    case "reaction":
      return <TellReaction state={state} held={held} line={item.line} />;
  }
}

/** A reaction is over and no event tells of it: it may be the very thing that was logged as an event. */
function TellReaction({ state, held, line }: { state: CaseState; held: Held | null; line: string }) {
  const reaction = state.reactions.find((r) => r.line === line);
  const seen = [...(reaction?.signs.keys() ?? [])];
  const spare = state.safety.filter(
    ({ body }) => !body.reaction && !body.late && body.reached_patient !== false,
  );
  const join = async ({ line: event, body: { salt: _salt, ...body } }: (typeof spare)[number]) => {
    const joined = { ...body, reaction: line, signs: [...new Set([...body.signs, ...seen])] };
    const said = { line: event, body: joined as never, why: "the same thing as the emergency" };
    await record("line.amended", said, { case: state.id });
  };
  const anew = () => {
    const dyed = state.dye.injected.length > 0;
    eventPrefill.value = { ...(dyed ? { what: DYE_REACTION } : {}), signs: seen, reaction: line };
    openOver("event");
  };
  return (
    <>
      {spare.length > 0 && <p>Is it the same thing that was logged as an event?</p>}
      {spare.map((one) => (
        <Button key={one.line} wide disabled={saving.value > 0} onClick={() => void join(one)}>
          Yes: {held?.pack.choices.safety_what.find((w) => w.id === one.body.what)?.text ?? one.body.what},{" "}
          {clock(one.at)}
        </Button>
      ))}
      <Button kind={spare.length > 0 ? "plain" : "main"} wide onClick={anew}>
        {spare.length > 0 ? "No: record what happened" : "Record what happened"}
      </Button>
    </>
  );
}
