import { Icon } from "../../ui";
import { openEmergency } from "./begin";

/** The way out: in the bar of every page, and in the foot of every sheet, which covers that bar. */
export function ExitButton() {
  return (
    <button type="button" class="button button-danger button-over way-out" onClick={openEmergency}>
      <Icon name="emergency" />
      <span>Emergency</span>
    </button>
  );
}
