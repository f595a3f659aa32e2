/** The plan beside the known patterns: what each shows, how its fields join, how long it takes; one is chosen. */
import { useState } from "preact/hooks";
import type { CaseState, Eye } from "../../log";
import type { Optic } from "../../types.gen";
import { Button, Icon, Notice, PickOne, Sheet, Tag, TextArea } from "../../ui";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { count } from "../words";
import type { Way } from "./ways";

const share = (part: number): string => `${Math.round(part * 100)} %`;

/** "5 fields, shows 97 %, joins at least 24 %, about 85 s". */
export function wayFigures(way: Way): string {
  const parts = [count(way.fields.length, "field", "fields")];
  if (way.region_fraction !== null) parts.push(`shows ${share(way.region_fraction)}`);
  if (way.least_join_overlap !== null) parts.push(`joins at least ${share(way.least_join_overlap)}`);
  if (way.seconds !== null) parts.push(`about ${Math.round(way.seconds)} s`);
  return parts.join(", ");
}

export function Ways({
  state,
  eye,
  optic,
  ways,
  picked,
  chosen,
  onPick,
  onChosen,
}: {
  state: CaseState;
  eye: Eye;
  optic: Optic;
  ways: readonly Way[];
  picked: Way | null;
  chosen: string | null;
  onPick: (id: string) => void;
  onChosen: () => void;
}) {
  const [asking, setAsking] = useState(false);
  if (ways.length === 0) {
    return (
      <Notice kind="info" title="No plan for this region and optic">
        <p>This guidance has none for a face like this. The clinic lead can ask for one.</p>
      </Notice>
    );
  }
  return (
    <section class="stack" aria-label="Plan and patterns">
      <PickOne
        legend="Plan or pattern"
        hint="The map shows the one that is picked."
        options={ways.map((w) => ({ id: w.id, text: w.name, help: wayFigures(w) }))}
        value={picked?.id ?? null}
        onPick={(id) => id !== null && onPick(id)}
      />
      {picked !== null && (
        <div class="card card-now">
          <div class="row-ends">
            <h2 class="t-do">{picked.name}</h2>
            {picked.id === chosen && <Tag icon="tick">Chosen</Tag>}
          </div>
          <p class={picked.meets === false ? "optic-no" : "optic-yes"}>
            <Icon name={picked.meets === false ? "warn" : "tick"} />
            <span class="strong">
              {picked.meets === null
                ? "As far as this face can be turned"
                : picked.meets
                  ? "Shows and joins as asked"
                  : "Less than is asked"}
            </span>
          </p>
          <p>{wayFigures(picked)}.</p>
          <ul class="reasons">
            {picked.says.map((sentence) => (
              <li key={sentence}>{sentence}</li>
            ))}
          </ul>
          {picked.id === chosen ? (
            <Button kind="main" wide onClick={onChosen}>
              Take its frames
            </Button>
          ) : (
            <Button kind="main" wide disabled={picked.fields.length === 0} onClick={() => setAsking(true)}>
              Photograph by this
            </Button>
          )}
        </div>
      )}
      {asking && picked !== null && (
        <ChooseWay
          state={state}
          eye={eye}
          optic={optic}
          way={picked}
          onClose={() => setAsking(false)}
          onSaved={() => {
            setAsking(false);
            onChosen();
          }}
        />
      )}
    </section>
  );
}

function ChooseWay({
  state,
  eye,
  optic,
  way,
  onClose,
  onSaved,
}: {
  state: CaseState;
  eye: Eye;
  optic: Optic;
  way: Way;
  onClose: () => void;
  onSaved: () => void;
}) {
  const [reason, setReason] = useState("");
  const choose = async (): Promise<void> => {
    const body = { plan: way.id, eye, optic: optic.id, reason: reason.trim() };
    if ((await record("plan.chosen", body, { case: state.id })) !== null) onSaved();
  };
  return (
    <Sheet
      small
      title={`${way.name}, ${optic.name}`}
      onClose={onClose}
      foot={
        <Button kind="main" big wide disabled={saving.value > 0} onClick={choose}>
          Photograph by this
        </Button>
      }
    >
      <TextArea
        label="Reason (if you want to keep one)"
        hint={NO_NAMES}
        value={reason}
        onText={setReason}
        maxLength={300}
        warning={looksLikePerson(reason) ?? undefined}
      />
    </Sheet>
  );
}
