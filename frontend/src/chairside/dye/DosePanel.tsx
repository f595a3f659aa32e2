/** The dose of one dye: worked by the clinic's approved rule, then checked by a second person. Never advice. */
import "./dye.css";
import { useState } from "preact/hooks";
import { Button, Notice } from "../../ui";
import type { PanelProps } from "../guide";
import { saving } from "../record";
import { askedDyes, closedForDose, doseStanding, notComputed } from "../screening/course";
import { clock } from "../words";
import { ClosedList } from "./ClosedList";
import { DoseCard } from "./DoseCard";
import { DoseForm } from "./DoseForm";
import { OrderPanel } from "./OrderPanel";
import { SecondCheck } from "./SecondCheck";

export function DosePanel({ state, held, onSaved, dye: id }: PanelProps & { dye: string }) {
  const { pack } = held;
  const [again, setAgain] = useState(false);
  const dye = askedDyes(pack, state).find((d) => d.id === id);
  if (dye === undefined || pack.dosing === null) {
    return (
      <div class="stack">
        <p>
          {dye === undefined
            ? "This dye is not asked for in this case."
            : "This guidance has no dose rules. Go by the clinic's own paper, with its own second check."}
        </p>
        {dye === undefined && (
          <Button kind="main" big wide onClick={() => void onSaved("not asked for")}>
            Go on
          </Button>
        )}
      </div>
    );
  }
  const closed = closedForDose(pack, state);
  if (closed.length > 0)
    return <ClosedList state={state} title={`No dose of ${dye.name.toLowerCase()} yet`} closed={closed} />;
  if (notComputed(pack, state, dye.id).length > 0)
    return <OrderPanel {...{ state, pack, dye, onSaved }} dosing={pack.dosing} />;
  const standing = doseStanding(state, dye.id);
  const { dose, check } = standing;
  const injected = state.dye.injected.some((i) => i.body.dye === dye.id);
  if (dose === null || (again && !injected)) {
    return (
      <DoseForm state={state} pack={pack} dosing={pack.dosing} dye={dye} onWorked={() => setAgain(false)} />
    );
  }
  const card = <DoseCard dye={dye} dose={dose.body} caution={pack.dosing.caution} />;
  return (
    <div class="stack">
      {standing.state !== "unchecked" && card}
      {standing.state === "unchecked" && (
        <SecondCheck
          state={state}
          dosing={pack.dosing}
          dye={dye.id}
          workedBy={workedBy(state, dose.line)}
          dose={dose}
          card={card}
        />
      )}
      {standing.state === "differs" && (
        <Notice kind="danger" title="The second check differs" loud>
          <p>
            {check?.body.by}, {check?.body.role}, {clock(check?.at ?? 0)}
            {check?.body.note ? `: ${check.body.note}` : ""}
          </p>
          <p>Nothing is injected until it has been worked anew and a second person agrees.</p>
        </Notice>
      )}
      {standing.state === "agreed" && (
        <>
          <Notice kind="done" title="A second person agrees">
            <p>
              {check?.body.by}, {check?.body.role}, {clock(check?.at ?? 0)}
            </p>
          </Notice>
          <Button
            kind="main"
            big
            wide
            disabled={saving.value > 0}
            onClick={() =>
              void onSaved(`${dose.body.dose_mg} mg, ${dose.body.volume_ml} mL, checked by ${check?.body.by}`)
            }
          >
            Go on
          </Button>
        </>
      )}
      {!injected && (
        <Button
          kind={standing.state === "differs" ? "main" : "quiet"}
          big={standing.state === "differs"}
          wide={standing.state === "differs"}
          onClick={() => setAgain(true)}
        >
          Work it anew
        </Button>
      )}
    </div>
  );
}

/** Who worked it, by the line's own word. */
function workedBy(state: PanelProps["state"], line: string): string | null {
  return state.entries.find((e) => e.line === line)?.actor ?? null;
}
