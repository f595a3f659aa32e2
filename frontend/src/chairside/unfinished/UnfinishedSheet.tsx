import type { CaseState } from "../../log";
import type { Held } from "../../pack";
import { Button, Notice, Sheet } from "../../ui";
import { eventPrefill } from "../guide";
import { drugActions } from "../reaction/tables";
import { openOver } from "../router";
import { Details } from "../safety/Details";
import { clock } from "../words";
import { Attach } from "./Attach";
import { DrugMore } from "./DrugMore";
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
    case "reaction":
      return (
        <Button
          kind="main"
          wide
          onClick={() => {
            const dyed = state.dye.injected.length > 0;
            const reaction = state.reactions.find((r) => r.line === item.line);
            const signs = [...(reaction?.signs.keys() ?? [])];
            eventPrefill.value = { ...(dyed ? { what: "dye_reaction" } : {}), signs, reaction: item.line };
            openOver("event");
          }}
        >
          Record what happened
        </Button>
      );
  }
}
