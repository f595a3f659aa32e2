import { IconButton, look } from "../../ui";
import { openOver } from "../router";

/**
 * The ways out, where the thumb is. The most used lies nearest the holding hand's thumb, the emergency at its outer
 * end, so that neither is pressed for the other.
 */
export function BottomBar({ outside }: { outside?: boolean }) {
  const emergency = (
    <IconButton
      key="emergency"
      kind="danger"
      icon="emergency"
      word="Emergency"
      onClick={() => openOver("emergency")}
    />
  );
  const buttons = outside
    ? [emergency]
    : [
        <IconButton key="history" icon="history" word="Case" onClick={() => openOver("history")} />,
        <IconButton key="event" icon="event" word="Event" onClick={() => openOver("event")} />,
        <IconButton key="comfort" icon="comfort" word="Comfort" onClick={() => openOver("comfort")} />,
        emergency,
      ];
  if (look.value.hand === "left") buttons.reverse();
  return (
    <nav class="bottom-bar" aria-label="Ways out">
      {buttons}
    </nav>
  );
}
