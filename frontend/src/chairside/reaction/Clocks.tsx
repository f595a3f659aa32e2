import type { CaseState } from "../../log";
import type { Contact } from "../../types.gen";
import { Icon } from "../../ui";
import { app } from "../app";
import { dialled } from "../overlays/EmergencyBody";
import { Since, useReadings } from "../Since";
import { dyeClocks, dyeName } from "./dyeClocks";
import { type Began, reactionClock } from "./remind";

/** How long since the way out was opened, and since each dye. Beside them the first number, on every part. */
export function Clocks({
  began,
  state,
  first,
  small,
  called,
}: {
  began: Began | null;
  state: CaseState | undefined;
  first: Contact | undefined;
  small: boolean;
  /** The clinic's criteria ask for the call: the number is as large as it can be. */
  called: boolean;
}) {
  const readings = useReadings(1000);
  const device = app.log.device.value?.id ?? null;
  return (
    <section
      class={`emergency-clocks ${small ? "emergency-clocks-small" : ""} ${called ? "emergency-clocks-called" : ""}`}
      aria-label="Clocks"
    >
      {began !== null && (
        <p>
          <Since
            clock={reactionClock(began, device, readings)}
            as={small ? "t-do number" : "emergency-clock number"}
          />{" "}
          <span class="t-small">{small ? "open" : "since opened"}</span>
        </p>
      )}
      {dyeClocks(state, device, readings).map((clock) => (
        <p key={clock.dye}>
          <Since clock={clock} as="t-do number" />{" "}
          <span class="t-small">since {dyeName(clock.dye).toLowerCase()}</span>
        </p>
      ))}
      {small && first && (
        <a class="button button-danger" href={`tel:${dialled(first.phone)}`}>
          <Icon name="call" />
          <span class="number">{called ? `Call ${first.phone}` : first.phone}</span>
        </a>
      )}
    </section>
  );
}
