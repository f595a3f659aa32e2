import type { ComponentChildren, ComponentType } from "preact";
import { useId, useLayoutEffect, useRef } from "preact/hooks";
import { Button } from "./Button";
import { look } from "./look";

/** What stands in the foot of every sheet, so that no sheet covers the way out; and whether it has been taken. */
let exit: ComponentType | null = null;
let isTaken: () => boolean = () => false;
/** Where focus goes once the sheet is put away that the way out led to: the other that it was opened in is gone by then,
 * so this is what had the focus before that. */
let cameFrom: HTMLElement | null = null;

/** The page sets it once. */
export function setSheetExit(shown: ComponentType, taken: () => boolean): void {
  exit = shown;
  isTaken = taken;
}

/**
 * Lies over what was there and goes back to it. The browser's own dialog: it keeps focus inside, hides the rest from
 * readers, and closes on Escape.
 */
export function Sheet({
  title,
  back = "Back",
  onClose,
  children,
  foot,
  small,
  danger,
}: {
  title: string;
  /** Word on the way back; null for a sheet that must be answered. */
  back?: string | null;
  onClose: () => void;
  children: ComponentChildren;
  foot?: ComponentChildren;
  small?: boolean;
  danger?: boolean;
}) {
  const dialog = useRef<HTMLDialogElement>(null);
  const id = useId();
  const Exit = danger ? null : exit;
  const feet = [
    foot && (
      <div key="acts" class="sheet-acts">
        {foot}
      </div>
    ),
    Exit && <Exit key="exit" />,
  ];
  if (look.value.hand === "left") feet.reverse();
  // before the frame is drawn: one effect later, the sheet would come a whole frame after its press
  useLayoutEffect(() => {
    const shown = dialog.current;
    const before = document.activeElement as HTMLElement | null;
    if (shown && !shown.open) {
      shown.showModal();
      // one inside it that was opened in the same moment, as after a reload, belongs above it
      for (const inner of shown.querySelectorAll<HTMLDialogElement>("dialog[open]")) {
        inner.close();
        inner.showModal();
      }
    }
    return () => {
      // To close it here would style the page under it for the focus that it gets back, and then once more without:
      // the emergency page would wait for both. A dialog that is taken off the page is closed by that.
      if (!danger && isTaken()) {
        cameFrom ??= before;
        return;
      }
      shown?.close();
      if (danger) {
        cameFrom?.focus({ preventScroll: true });
        cameFrom = null;
      }
    };
  }, []);
  return (
    <dialog
      ref={dialog}
      class={`sheet ${small ? "sheet-small" : ""} ${danger ? "sheet-danger" : ""}`}
      aria-labelledby={id}
      onCancel={(event) => {
        event.preventDefault();
        if (back !== null) onClose();
      }}
    >
      <div class="sheet-head">
        <h1 id={id}>{title}</h1>
        {back !== null && (
          <Button over icon="back" onClick={onClose}>
            {back}
          </Button>
        )}
      </div>
      <div class="sheet-body">{children}</div>
      {(foot || Exit) && <div class="sheet-foot">{feet}</div>}
    </dialog>
  );
}
