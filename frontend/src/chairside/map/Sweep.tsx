/**
 * Going back over a sweep: which sectors frames show, which are missing or too dark. A sector is as the frames say
 * until a person who has looked through them says otherwise.
 */
import type { Eye } from "../../log";
import { Button, Icon, Segmented } from "../../ui";
import { record, saving } from "../record";
import { SECTOR_WORD } from "../tell/plans";
import type { SectorStand } from "./filling";
import { HOURS, type Ring, sectorWords } from "./sectors";

const MARK = { covered: "tick", missing: "cross", dark: "warn" } as const;

export function Sweep({
  caseId,
  eye,
  stands,
  picked,
  onPick,
  frame,
  onFrame,
}: {
  caseId: string;
  eye: Eye;
  stands: readonly SectorStand[];
  picked: string;
  onPick: (sector: string) => void;
  /** The frame of the chosen sweep that shows most of the picked sector. */
  frame: { id: string; number: number } | null;
  onFrame: (id: string) => void;
}) {
  const now = stands.find((s) => s.sector.id === picked) ?? stands[0];
  if (now === undefined) return null;
  const open = stands.filter((s) => s.state !== "covered");
  const ring: Ring | "centre" = now.sector.ring ?? "centre";
  const mark = (state: SectorStand["state"]): void => {
    void record("sweep.sector", { eye, sector: now.sector.id, state }, { case: caseId });
  };
  return (
    <section class="stack" aria-labelledby="sweep">
      <h2 id="sweep">Go back over</h2>
      <p role="status">
        {open.length === 0
          ? "Every sector is covered."
          : `${stands.length - open.length} of ${stands.length} sectors covered. ${open.filter((s) => s.state === "missing").length} missing, ${open.filter((s) => s.state === "dark").length} too dark.`}
      </p>
      <Segmented<Ring | "centre">
        legend="Ring"
        hideLegend
        options={[
          { id: "centre", text: "Centre" },
          { id: "mid", text: "Middle" },
          { id: "far", text: "Far" },
        ]}
        value={ring}
        onPick={(id) => onPick(id === "centre" ? id : `${id}-${now.sector.hour || 12}`)}
      />
      {ring !== "centre" && (
        <fieldset class="hours">
          <legend class="only-heard">Hour of the clock, as you face the eye</legend>
          {HOURS.map((hour) => {
            const id = `${ring}-${hour}`;
            const stand = stands.find((s) => s.sector.id === id);
            if (stand === undefined) return null;
            return (
              <Button
                key={id}
                pressed={id === now.sector.id}
                icon={MARK[stand.state]}
                aria-label={`${hour} o'clock: ${SECTOR_WORD[stand.state].toLowerCase()}`}
                onClick={() => onPick(id)}
              >
                {hour}
              </Button>
            );
          })}
        </fieldset>
      )}
      <div class="card card-now">
        <h3 class="t-do">{sectorWords(eye, now.sector.id)}</h3>
        <p>
          <Icon name={MARK[now.state]} /> <span class="strong">{SECTOR_WORD[now.state]}</span>
          <span class="quiet">
            {now.share === null ? "" : `, frames show ${Math.round(now.share * 100)} %`}
            {now.marked ? ", as you marked it" : ", by the frames"}
          </span>
        </p>
        <div class="sector-states">
          {(["covered", "missing", "dark"] as const).map((state) => (
            <Button
              key={state}
              pressed={now.marked && now.state === state}
              disabled={saving.value > 0}
              onClick={() => mark(state)}
            >
              {SECTOR_WORD[state]}
            </Button>
          ))}
        </div>
        {frame !== null && (
          <Button wide icon="forward" onClick={() => onFrame(frame.id)}>
            Go back to frame {frame.number}
          </Button>
        )}
      </div>
      {open.length > 0 && open.length < stands.length && (
        <p class="quiet">
          Next to go over: {sectorWords(eye, (open.find((s) => s !== now) ?? open[0] ?? now).sector.id)}.
        </p>
      )}
    </section>
  );
}
