/** Every figure of one optic for what is asked and a face like this. */
import type { Pack } from "../../types.gen";
import { Icon } from "../../ui";
import { count, MODALITY_WORD } from "../words";
import type { Judged } from "./suggest";

/** "4 min 5 s": seconds in the units that a person waits in. */
export function timeWords(seconds: number): string {
  const whole = Math.round(seconds);
  const minutes = Math.floor(whole / 60);
  return minutes === 0 ? `${whole} s` : `${minutes} min ${whole % 60} s`;
}

export function Figures({ judged }: { judged: Judged }) {
  const { row } = judged;
  const turn = (deg: number): string => (deg < 0.5 ? "none" : `up to ${Math.round(deg)}°`);
  return (
    <>
      {row.fields > 0 && (
        <>
          <dt>Fields</dt>
          <dd>
            {count(row.fields, "field", "fields")}
            {row.proved ? ", none fewer: proved" : `, at least ${row.lower_bound} needed`}
          </dd>
          <dt>Time</dt>
          <dd>
            about {timeWords(row.seconds)}
            {judged.inTime === false && ": longer than asked"}
          </dd>
          <dt>Shows</dt>
          <dd>
            {Math.round(row.coverage * 100)} %
            {row.reachable < row.coverage + 0.005
              ? ""
              : ` (all reachable: ${Math.round(row.reachable * 100)} %)`}
          </dd>
          <dt>Head turn</dt>
          <dd>{turn(row.head_turn_deg)}</dd>
          <dt>Chin</dt>
          <dd>{turn(row.chin_deg)}</dd>
          <dt>Eye turn</dt>
          <dd>{turn(row.eye_turn_deg)}</dd>
        </>
      )}
      <dt>Detail</dt>
      <dd>{row.detail_px_per_deg} pixels per degree</dd>
      <dt>Sections</dt>
      <dd>{row.cross_sections ? "takes cross-sections" : "no cross-sections"}</dd>
      <dt>Takes</dt>
      <dd>{row.modalities.map((m) => MODALITY_WORD[m].toLowerCase()).join(", ")}</dd>
    </>
  );
}

/** Another optic is no worse in any figure: said, and nothing is hidden for it. */
export function Dominated({ pack, judged }: { pack: Pack; judged: Judged }) {
  if (judged.dominatedBy.length === 0) return null;
  const better = judged.dominatedBy.map((id) => pack.optics.find((o) => o.id === id)?.name ?? id);
  return (
    <p class="row">
      <Icon name="info" />
      <span>{better.join(" and ")}: no worse in any figure here, and better in one.</span>
    </p>
  );
}
