import type { ClassFit } from "../../types.gen";
import { Icon } from "../../ui";
import { DEPTHS, figure, NOSES, turn, WORDS } from "./fits";
import { Wide } from "./Wide";

/** Eye depth down, bridge across: in each cell the turn, the gap and the word that the photographer reads. */
export function FitCells({ rows, name }: { rows: ClassFit[]; name: string }) {
  return (
    <Wide name={`Turns of ${name}`}>
      <table class="packs-cells">
        <caption class="only-heard">Turn, gap and words by eye depth and bridge: {name}</caption>
        <thead>
          <tr>
            <th scope="col">Eye</th>
            {NOSES.map((nose) => (
              <th key={nose} scope="col">
                {nose} bridge
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {DEPTHS.map((depth) => (
            <tr key={depth}>
              <th scope="row">{depth}</th>
              {NOSES.map((nose) => (
                <td key={nose}>
                  <FitCell fit={rows.find((row) => row.eye_depth === depth && row.nose === nose)} />
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

function FitCell({ fit }: { fit: ClassFit | undefined }) {
  if (!fit) return <>not computed</>;
  if (!fit.feasible) {
    return (
      <>
        <p class="packs-word">
          <Icon name="cross" /> no turn
        </p>
        <p class="t-small quiet">{fit.reason}</p>
      </>
    );
  }
  const word = fit.words && WORDS[fit.words];
  return (
    <>
      <p class="packs-turn number">{turn(fit)}</p>
      <p class="number t-small">
        gap {figure(fit.clearance_mm, " mm")}; second face {figure(fit.forward_clearance_mm, " mm")}
        {(fit.backed_off_mm ?? 0) >= 0.05 && `; ${figure(fit.backed_off_mm, " mm")} farther off`}
      </p>
      {word && (
        <p class="packs-word">
          <Icon name={word.icon} /> {word.text}
        </p>
      )}
    </>
  );
}
