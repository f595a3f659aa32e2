import { useRef } from "preact/hooks";
import { Button } from "../../ui";
import type { Asked } from "../asked";
import { type Kind, useNews } from "../live";

/** Says that something came since this was asked for. What is read stays where it is until somebody wants the newer. It
 * stands at the lower edge, so that nothing moves for it. */
export function News({ of, kinds }: { of: Pick<Asked<unknown>, "answer" | "again">; kinds: Kind[] }) {
  const count = useNews(...kinds);
  const known = useRef(count);
  const waits = useRef(false);
  const waiting = of.answer === null;
  if (waiting && !waits.current) known.current = count;
  waits.current = waiting;
  const show = () => {
    document.getElementById("desk-main")?.focus({ preventScroll: true }); // the button goes
    of.again();
  };
  return (
    <div class="desk-news" role="status">
      {!waiting && count !== known.current && (
        <p class="card">
          New lines have come. <Button onClick={show}>Show them</Button>
        </p>
      )}
    </div>
  );
}
