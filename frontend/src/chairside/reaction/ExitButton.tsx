import { Button } from "../../ui";
import { openEmergency } from "./begin";

/** The way out inside a sheet, where the bar below is covered. */
export function ExitButton() {
  return (
    <Button over kind="danger" icon="emergency" onClick={openEmergency}>
      Emergency
    </Button>
  );
}
