/**
 * Held for a second, not tapped: a brush of the hand starts nothing. What it gives is when the press began, since the
 * second of holding is not part of what is timed. Space or Enter hold it as a finger does. A press that some help for
 * hands or eyes makes without holding asks once more.
 */
import { useEffect, useRef, useState } from "preact/hooks";
import { type Began, heldPart, holdsKey } from "./hold";

const AGAIN_MS = 6000;

const nowBoth = (): Began => ({ wall: Date.now(), mono: Math.round(performance.now()) });

export function HoldButton({
  word,
  hint = "Hold for one second",
  disabled,
  onHeld,
}: {
  word: string;
  hint?: string;
  disabled?: boolean;
  onHeld: (began: Began) => void;
}) {
  const began = useRef<Began | null>(null);
  const frame = useRef(0);
  const fill = useRef<HTMLSpanElement>(null);
  const bar = useRef<HTMLSpanElement>(null);
  const [said, setSaid] = useState<"" | "held" | "short" | "again">("");
  const askedAgain = useRef(0);

  const draw = (part: number): void => {
    for (const { current } of [fill, bar]) if (current) current.style.transform = `scaleX(${part})`;
  };
  const stop = (): void => {
    cancelAnimationFrame(frame.current);
    began.current = null;
    draw(0);
  };
  const tick = (): void => {
    const press = began.current;
    const part = heldPart(press, performance.now());
    draw(part);
    if (press !== null && part >= 1) {
      stop();
      setSaid("held");
      navigator.vibrate?.(60);
      onHeld(press);
    } else if (press !== null) frame.current = requestAnimationFrame(tick);
  };
  const press = (): void => {
    if (disabled || began.current !== null) return;
    began.current = nowBoth();
    setSaid("");
    frame.current = requestAnimationFrame(tick);
  };
  const release = (): void => {
    if (began.current === null) return;
    stop();
    setSaid("short");
  };
  useEffect(() => stop, []);

  return (
    <div class="stack-tight">
      <button
        type="button"
        class="hold"
        disabled={disabled}
        onPointerDown={(event) => {
          if (event.button !== 0) return;
          event.currentTarget.setPointerCapture(event.pointerId);
          press();
        }}
        onPointerUp={release}
        onPointerCancel={release}
        onContextMenu={(event) => event.preventDefault()}
        onBlur={release}
        onKeyDown={(event) => {
          if (!holdsKey(event.key)) return;
          event.preventDefault(); // no click of its own, and no scrolling
          if (!event.repeat) press();
        }}
        onKeyUp={(event) => {
          if (!holdsKey(event.key)) return;
          event.preventDefault();
          release();
        }}
        onClick={(event) => {
          // a finger's or mouse's own click has been dealt with; this one came without a press
          if (event.detail !== 0 || disabled) return;
          if (performance.now() - askedAgain.current < AGAIN_MS) {
            askedAgain.current = 0;
            setSaid("held");
            onHeld(nowBoth());
          } else {
            askedAgain.current = performance.now();
            setSaid("again");
          }
        }}
      >
        <span class="hold-fill" ref={fill} />
        <span class="hold-bar" ref={bar} />
        <span class="hold-words">
          <span>{word}</span>
          <span class="hold-hint">{hint}</span>
        </span>
      </button>
      <p class="t-small quiet" role="status">
        {said === "short" && "Let go too soon: nothing was started. Hold it for one second."}
        {said === "again" && "Press once more within six seconds to start it."}
      </p>
    </div>
  );
}
