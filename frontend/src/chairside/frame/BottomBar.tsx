import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { IconButton, look } from "../../ui";
import { ExitButton } from "../reaction/ExitButton";
import { openOver } from "../router";

/**
 * The ways out, where the thumb is: the emergency at the holding hand's edge, then by how often each is used. The
 * order in the page is the order on the screen, so that a keyboard meets them the same way.
 */
export function BottomBar({
  outside,
  act,
  locked,
}: {
  outside?: boolean;
  act?: ComponentChildren;
  /** Nothing of the case can be read. */
  locked?: boolean;
}) {
  const bar = useRef<HTMLElement>(null);
  useEffect(() => {
    // what sticks above the bar has to know how high it is: it grows with the text
    if (!bar.current) return;
    const root = document.documentElement.style;
    const watch = new ResizeObserver(([entry]) => {
      if (entry)
        root.setProperty("--bar-height", `${Math.round(entry.target.getBoundingClientRect().height)}px`);
    });
    watch.observe(bar.current);
    return () => watch.disconnect();
  }, []);
  const emergency = <ExitButton key="emergency" />;
  const buttons = outside
    ? [act, emergency]
    : [
        !locked && (
          <IconButton key="history" icon="history" word="Case" onClick={() => openOver("history")} />
        ),
        <IconButton key="event" icon="event" word="Event" onClick={() => openOver("event")} />,
        <IconButton key="comfort" icon="comfort" word="Comfort" onClick={() => openOver("comfort")} />,
        emergency,
      ];
  if (look.value.hand === "left") buttons.reverse();
  return (
    <nav ref={bar} class={`bottom-bar ${outside ? "bottom-bar-outside" : ""}`} aria-label="Ways out">
      {buttons}
    </nav>
  );
}
