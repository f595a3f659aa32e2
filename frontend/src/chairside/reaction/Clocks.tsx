import type { CaseState } from "../../log";
import type { Contact } from "../../types.gen";
import { Icon } from "../../ui";
import { useNow } from "../now";
import { dialled } from "../overlays/EmergencyBody";
import { dyeClocks, dyeName } from "./dyeClocks";
import { clockSince } from "./remind";

/** How long since the way out was opened, and since each dye. Beside them the first number, on every part. */
export function Clocks({
  openedAt,
  state,
  first,
  small,
  called,
}: {
  openedAt: number | null;
  state: CaseState | undefined;
  first: Contact | undefined;
  small: boolean;
  /** The clinic's criteria ask for the call: the number is as large as it can be. */
  called: boolean;
}) {
  const now = useNow(1000);
  return (
    <section
      class={`emergency-clocks ${small ? "emergency-clocks-small" : ""} ${called ? "emergency-clocks-called" : ""}`}
      aria-label="Clocks"
    >
      {openedAt !== null && (
        <p>
          <span class={small ? "t-do number" : "emergency-clock number"} role="timer">
            {clockSince(openedAt, now)}
          </span>{" "}
          <span class="t-small">{small ? "open" : "since opened"}</span>
        </p>
      )}
      {dyeClocks(state).map((clock) => (
        <p key={clock.dye}>
          <span class="t-do number" role="timer">
            {clockSince(clock.from, now)}
          </span>{" "}
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
