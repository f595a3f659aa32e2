/** Where the clinic's dose rules are not for this patient: no amount is shown, and the physician's own order is checked. */
import type { CaseState } from "../../log";
import type { Dosing, Dye, Pack } from "../../types.gen";
import { Button, Notice } from "../../ui";
import { saving } from "../record";
import { notComputed, orderStanding } from "../screening/course";
import { clock } from "../words";
import { SecondCheck } from "./SecondCheck";

export function OrderPanel({
  state,
  pack,
  dosing,
  dye,
  onSaved,
}: {
  state: CaseState;
  pack: Pack;
  dosing: Dosing;
  dye: Dye;
  onSaved: (value?: string) => Promise<void> | void;
}) {
  const { state: standing, check } = orderStanding(pack, state, dye.id);
  const who = check === null ? "" : `${check.body.by}, ${check.body.role}, ${clock(check.at)}`;
  const injected = state.dye.injected.some((i) => i.body.dye === dye.id);
  return (
    <div class="stack">
      <Notice kind="danger" title={`No dose of ${dye.name.toLowerCase()} is worked here`}>
        {notComputed(pack, state, dye.id).map(({ question, answer }) => (
          <div key={question.id} class="stack-tight">
            <p>
              {question.text} <span class="strong">{answer.text}.</span>
            </p>
            {answer.do !== "" && <p>{answer.do}</p>}
          </div>
        ))}
        <p>
          The clinic's dose rules are not for this patient, so this phone shows no amount. The physician's own
          order stands: have it said aloud, and read it back.
        </p>
      </Notice>
      {check !== null && (
        <Notice
          kind={standing === "agreed" ? "done" : "danger"}
          title={standing === "agreed" ? "A second person agrees with the order" : "The second check differs"}
          loud={standing === "differs"}
        >
          <p>
            As noted: <span class="strong">{check.body.note}</span>
          </p>
          <p>{who}</p>
          {standing === "differs" && (
            <p>Nothing is injected until it is settled and a second person agrees.</p>
          )}
        </Notice>
      )}
      {standing !== "agreed" && !injected && (
        <SecondCheck state={state} dosing={dosing} dye={dye.id} workedBy={null} order />
      )}
      {standing === "agreed" && (
        <Button
          kind="main"
          big
          wide
          disabled={saving.value > 0}
          onClick={() => void onSaved(`by the physician's own order, checked by ${check?.body.by}`)}
        >
          Go on
        </Button>
      )}
    </div>
  );
}
