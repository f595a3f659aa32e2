/** What the arithmetic needs, typed or picked; what it answers stands below as it is typed. */
import type { CaseState } from "../../log";
import type { Dose, Dosing, Dye, Pack } from "../../types.gen";
import { Button, Notice, PickOne, TextField } from "../../ui";
import { useDraft } from "../drafts";
import { useNow } from "../now";
import { record, saving } from "../record";
import { askedDyes, notComputed } from "../screening/course";
import { askDose, type DoseDraft, NO_DOSE } from "./ask";
import { Approved, DoseCard } from "./DoseCard";

export function DoseForm({
  state,
  pack,
  dosing,
  dye,
  onWorked,
}: {
  state: CaseState;
  pack: Pack;
  dosing: Dosing;
  dye: Dye;
  onWorked: () => void;
}) {
  const now = useNow(60_000);
  const [who, setWho, dropWho] = useDraft(`weight/${state.id}`, {
    weight: state.dye.doses.at(-1)?.body.weight_kg ?? "",
    band: "",
    confirmed: "",
  });
  const [vial, setVial, dropVial] = useDraft(`dose/${state.id}/${dye.id}`, { concentration: "", madeUp: "" });
  const draft: DoseDraft = { ...NO_DOSE, ...who, ...vial };
  const beside = askedDyes(pack, state).find((d) => d.id !== dye.id);
  const unworked = beside !== undefined && notComputed(pack, state, beside.id).length > 0;
  const other = unworked ? undefined : beside;
  const asked = askDose(pack, dye.id, draft, {
    withDye: other?.id ?? "",
    now,
  });
  const faultOf = (field: string): string | undefined =>
    "field" in asked && asked.field === field ? `It ${asked.why}.` : undefined;
  const elsewhere =
    "field" in asked && !["weight_kg", "concentration_mg_ml", "made_up_min"].includes(asked.field)
      ? asked
      : null;
  const record_ = async (dose: Dose): Promise<void> => {
    if (dose.dose_mg === null || dose.volume_ml === null || dose.working === null) return;
    const body = {
      dye: dye.id,
      weight_kg: draft.weight.trim() === "" ? null : draft.weight.trim(),
      concentration_mg_ml: dose.concentration_mg_ml ?? draft.concentration,
      dose_mg: dose.dose_mg,
      volume_ml: dose.volume_ml,
      capped: dose.capped,
      working: dose.working,
      with_dye: dose.with_dye,
      made_up_min: draft.madeUp.trim() === "" ? null : Number(draft.madeUp.trim()),
    };
    if ((await record("dose.worked", body, { case: state.id })) === null) return;
    dropVial();
    if (!other) dropWho();
    onWorked();
  };
  return (
    <div class="stack">
      <Notice kind="warn" title={dye.name}>
        <p>{dosing.caution}</p>
      </Notice>
      {unworked && (
        <Notice kind="warn" title={`${beside?.name} is by the physician's own order`}>
          <p>It is not counted here: what both dyes come to together is for whoever gave that order.</p>
        </Notice>
      )}
      <PickOne
        legend="Age"
        across
        options={dosing.weights.map((w) => ({ id: w.id, text: w.name }))}
        value={who.band === "" ? null : who.band}
        onPick={(band) => setWho({ band: band ?? "", confirmed: "" })}
      />
      <TextField
        label="Weight today, in kilograms"
        hint="As weighed, with a point for decimals: 18.5. Not in pounds."
        inputMode="decimal"
        value={who.weight}
        onText={(weight) => setWho({ weight, confirmed: "" })}
        maxLength={20}
        error={faultOf("weight_kg")}
      />
      <PickOne
        legend="Strength on the vial"
        hint={
          dye.default_concentration_mg_ml
            ? `Read it off the vial, aloud. This clinic stocks ${dye.default_concentration_mg_ml} mg/mL.`
            : "Read it off the vial, aloud."
        }
        across
        options={dye.concentrations_mg_ml.map((id) => ({ id, text: `${id} mg/mL` }))}
        value={vial.concentration === "" ? null : vial.concentration}
        onPick={(concentration) => setVial({ concentration: concentration ?? "" })}
        error={faultOf("concentration_mg_ml")}
      />
      {dye.use_by_h !== "" && (
        <TextField
          label="Made up how many minutes ago?"
          hint={`To be used within ${dye.use_by_h} hours.`}
          inputMode="numeric"
          value={vial.madeUp}
          onText={(madeUp) => setVial({ madeUp })}
          maxLength={8}
          error={faultOf("made_up_min")}
        />
      )}
      {elsewhere && (
        <Notice kind="danger" title="This cannot be worked" loud>
          <p>
            {elsewhere.field}: {elsewhere.why}
          </p>
        </Notice>
      )}
      {"waits" in asked && <p class="quiet">{asked.waits}</p>}
      {"dose" in asked && asked.dose.stop !== null && (
        <Stopped
          dose={asked.dose}
          onConfirm={() => setWho({ confirmed: who.weight.trim() })}
          onClear={() => setWho({ weight: "", confirmed: "" })}
        />
      )}
      {"dose" in asked && asked.dose.stop === null && asked.dose.working !== null && (
        <>
          <DoseCard
            dye={dye}
            caution={dosing.caution}
            dose={{
              dye: dye.id,
              weight_kg: draft.weight,
              concentration_mg_ml: asked.dose.concentration_mg_ml ?? "",
              dose_mg: asked.dose.dose_mg ?? "",
              volume_ml: asked.dose.volume_ml ?? "",
              capped: asked.dose.capped,
              working: asked.dose.working,
            }}
          />
          <Button
            kind="main"
            big
            wide
            disabled={saving.value > 0}
            onClick={() => "dose" in asked && void record_(asked.dose)}
          >
            Keep this working
          </Button>
        </>
      )}
      {!("dose" in asked && asked.dose.stop === null) && <Approved dye={dye} />}
    </div>
  );
}

function Stopped({ dose, onConfirm, onClear }: { dose: Dose; onConfirm: () => void; onClear: () => void }) {
  const asks = dose.stop?.code === "weight_unlikely";
  return (
    <Notice kind={asks ? "warn" : "danger"} title={asks ? "Is this weight right?" : "No dose is shown"} loud>
      <p>{dose.stop?.reason}</p>
      {asks && (
        <div class="stack-tight">
          <Button wide onClick={onConfirm}>
            It is right, and in kilograms
          </Button>
          <Button wide onClick={onClear}>
            It is not: weigh again
          </Button>
        </div>
      )}
    </Notice>
  );
}
