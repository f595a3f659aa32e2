import type { ReadonlySignal } from "@preact/signals";
import { Button } from "../../ui";

/** Two large keys around a value that is said in words: the way without dragging. */
export function Stepper({
  label,
  text,
  less,
  more,
  onLess,
  onMore,
}: {
  label: string;
  text: ReadonlySignal<string> | string;
  less: string;
  more: string;
  onLess: () => void;
  onMore: () => void;
}) {
  return (
    <fieldset class="stepper">
      <legend class="only-heard">{label}</legend>
      <Button aria-label={less} onClick={onLess}>
        −
      </Button>
      <p class="stepper-value" aria-live="polite">
        {text}
      </p>
      <Button aria-label={more} onClick={onMore}>
        +
      </Button>
    </fieldset>
  );
}
