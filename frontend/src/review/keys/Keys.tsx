import { Fragment } from "preact";
import { useEffect, useState } from "preact/hooks";
import { Sheet } from "../../ui";
import type { Page } from "../route";
import { type Act, actOf, keysOn, nextRow, type Place, turnKeys } from "./keys";

const LIST: [string, string][] = [
  ["j or ↓", "to the next row (arrows once a row has the focus)"],
  ["k or ↑", "to the row before"],
  ["Enter", "opens the row"],
  ["/", "to the search"],
  ["?", "this list"],
  ["Escape", "closes what lies over the page"],
];

const SHOW = "chinrest-desk-keys";

/** Listens for single keys, and shows what they are. */
export function Keys({ page }: { page: Page }) {
  const [open, setOpen] = useState(false);
  useEffect(() => {
    const listen = (event: KeyboardEvent) => {
      const act = actOf(event, placeOf(document.activeElement), keysOn.value);
      if (act && run(act, () => setOpen(true))) event.preventDefault();
    };
    const show = () => setOpen(true);
    document.addEventListener("keydown", listen);
    document.addEventListener(SHOW, show);
    return () => {
      document.removeEventListener("keydown", listen);
      document.removeEventListener(SHOW, show);
    };
  }, []);
  useEffect(() => setOpen(false), [page]);
  if (!open) return null;
  return (
    <Sheet title="Keys" small onClose={() => setOpen(false)}>
      <dl class="facts desk-keys">
        {LIST.map(([key, what]) => (
          <Fragment key={key}>
            <dt>
              <kbd>{key}</kbd>
            </dt>
            <dd>{what}</dd>
          </Fragment>
        ))}
      </dl>
      <label class="desk-check">
        <input
          type="checkbox"
          checked={keysOn.value}
          onChange={(event) => turnKeys(event.currentTarget.checked)}
        />
        <span>Use single keys on this browser</span>
      </label>
      <p class="quiet t-small">
        They never act while something is typed or picked. Turned off, the button “Keys” still opens this
        list.
      </p>
    </Sheet>
  );
}

/** For the button: the same as the key. */
export const showKeys = (): void => {
  document.dispatchEvent(new Event(SHOW));
};

function placeOf(element: Element | null): Place {
  return {
    tag: element?.tagName ?? "",
    editable: element instanceof HTMLElement && element.isContentEditable,
    row: element?.classList.contains("desk-row-link") ?? false,
    dialog: document.querySelector("dialog[open]") !== null,
  };
}

function run(act: Act, help: () => void): boolean {
  if (act === "help") {
    help();
    return true;
  }
  if (act === "search") {
    const search = document.querySelector<HTMLInputElement>('.desk-filters input[type="text"]');
    search?.focus();
    search?.select();
    return search !== null;
  }
  const rows = [...document.querySelectorAll<HTMLElement>("a.desk-row-link")];
  const at = rows.indexOf(document.activeElement as HTMLElement);
  const next = rows[nextRow(at, act, rows.length)];
  next?.focus();
  next?.scrollIntoView({ block: "nearest" });
  return next !== undefined;
}
