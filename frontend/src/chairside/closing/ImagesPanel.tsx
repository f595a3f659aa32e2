/** Before the images are let go: what was asked for and is not there, and that all of it is saved. */
import "../dye/dye.css";
import { useState } from "preact/hooks";
import { Button, Notice, PickMany } from "../../ui";
import type { PanelProps } from "../guide";
import { saving } from "../record";
import { EYE_WORD } from "../words";
import { askedFrames } from "./images";

const CHECKS = [
  { id: "saved", text: "Every image is saved, and seen saved" },
  { id: "case", text: "Under the right case" },
  { id: "eye", text: "Each under the right eye" },
];

export function ImagesPanel({ state, held, onSaved }: PanelProps) {
  const [checked, setChecked] = useState<string[]>([]);
  const asked = askedFrames(held.pack, state);
  const taken = asked.filter((a) => a.outcome === "taken").length;
  const lacks = asked.filter((a) => a.outcome !== "taken");
  return (
    <div class="stack">
      {asked.length > 0 && (
        <p class="t-do">
          <span class="number">{taken}</span> of <span class="number">{asked.length}</span> asked frames taken
        </p>
      )}
      {lacks.length > 0 && (
        <Notice kind="warn" title="Asked for, and not taken">
          <ul class="reasons">
            {lacks.map((a) => (
              <li key={a.key}>
                {EYE_WORD[a.eye]}: {a.name}
                {a.outcome === "missed" ? " (missed)" : ""}
              </li>
            ))}
          </ul>
          <p>If one can still be taken, now is the time. If not, say so in the handover.</p>
        </Notice>
      )}
      <PickMany legend="Look at the instrument" options={CHECKS} values={checked} onPick={setChecked} />
      <Button
        kind="main"
        big
        wide
        icon="tick"
        disabled={checked.length < CHECKS.length || saving.value > 0}
        onClick={() =>
          void onSaved(asked.length > 0 ? `${taken} of ${asked.length} asked frames; saved` : "saved")
        }
      >
        Done
      </Button>
    </div>
  );
}
