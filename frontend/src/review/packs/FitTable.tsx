import type { ClassFit } from "../../types.gen";
import { plain } from "../words";
import { figure, percent, turn, WORDS } from "./fits";
import { Wide } from "./Wide";

const HEADS = [
  "Eye",
  "Bridge",
  "Neck",
  "Turn",
  "Distance",
  "Gap",
  "Gap, second face",
  "Nearest",
  "Field",
  "Chance of touching",
  "The same, second face",
  "Words",
];

/** Every figure of one optic. */
export function FitTable({ rows, name }: { rows: ClassFit[]; name: string }) {
  return (
    <Wide name={`Figures of ${name}`}>
      <table class="packs-figures">
        <caption class="only-heard">All figures of {name}</caption>
        <thead>
          <tr>
            {HEADS.map((head) => (
              <th key={head} scope="col">
                {head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((fit) => (
            <tr key={`${fit.eye_depth} ${fit.nose} ${fit.neck}`}>
              <th scope="row">{fit.eye_depth}</th>
              <td>{fit.nose}</td>
              <td>{fit.neck}</td>
              {fit.feasible ? (
                <>
                  <td class="number">{turn(fit)}</td>
                  <td class="number">{figure(fit.working_distance_mm, " mm")}</td>
                  <td class="number">{figure(fit.clearance_mm, " mm")}</td>
                  <td class="number">{figure(fit.forward_clearance_mm, " mm")}</td>
                  <td>{fit.nearest ? plain(fit.nearest) : "none"}</td>
                  <td class="number">{figure(fit.field_deg, "°")}</td>
                  <td class="number">{percent(fit.touch_chance?.nominal)}</td>
                  <td class="number">{percent(fit.touch_chance?.forward)}</td>
                  <td>{fit.words ? WORDS[fit.words].text : "none"}</td>
                </>
              ) : (
                <td colSpan={9}>no turn: {fit.reason}</td>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}
