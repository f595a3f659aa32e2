/** A worked dose, as it stands in the log: the working large, so that a second person can follow it. */
import type { DoseWorked, Dye } from "../../types.gen";
import { Fold, Notice, Tag } from "../../ui";

/** The space between a figure and its unit: no line ends there. */
const NUMBER_BEFORE_UNIT = /(\d) (?=[a-z])/gi;

type Worked = Omit<DoseWorked, "salt">;

export function DoseCard({ dye, dose, caution }: { dye: Dye; dose: Worked; caution: string }) {
  return (
    <section class="stack" aria-label={`Dose of ${dye.name.toLowerCase()}`}>
      <p class="working">{dose.working.replace(NUMBER_BEFORE_UNIT, "$1\u00a0")}</p>
      <div class="amounts">
        <div>
          <span class="amount">{dose.volume_ml} mL</span> of {dose.concentration_mg_ml} mg/mL
        </div>
        <div>
          <span class="amount">{dose.dose_mg} mg</span> {dye.name}
        </div>
      </div>
      {dose.capped && <Tag icon="warn">At the clinic's cap of {dye.cap_mg} mg</Tag>}
      <Approved dye={dye} />
      <Notice kind="warn">
        <p>{caution}</p>
      </Notice>
      <Fold word="Cautions and sources of this rule">
        <ul class="reasons">
          {dye.cautions.map((c) => (
            <li key={c}>{c}</li>
          ))}
          {dye.source.map((s) => (
            <li key={s} class="t-small quiet">
              {s}
            </li>
          ))}
        </ul>
      </Fold>
    </section>
  );
}

export function Approved({ dye }: { dye: Dye }) {
  return (
    <p class="quiet">
      Rule approved by {dye.approved_by || "nobody"}
      {dye.approved_on ? `, ${dye.approved_on}` : ""}
      {dye.valid_until ? `, until ${dye.valid_until}` : ""}. Flush: {dye.flush_ml} mL of saline.
      {dye.use_by_h ? ` Use within ${dye.use_by_h} h of making it up.` : ""} First seen in the eye about{" "}
      {dye.arm_to_eye_s[0]} to {dye.arm_to_eye_s[1]} s after.
    </p>
  );
}
