import { Fragment } from "preact";
import { useState } from "preact/hooks";
import { Button, Notice, readNumber, TextField } from "../../ui";
import { app } from "../app";
import { useDraft } from "../drafts";
import { record, saving } from "../record";
import { sinceText, useReadings } from "../Since";
import { readingText } from "../tell/reactions";
import { dyeClocks, dyeName, modalityOf, secondsOf } from "./dyeClocks";
import type { ReactionProps } from "./Emergency";
import { reactionClockAt, timeOfDay } from "./remind";
import { type Reading, type ReadingField, signsOf } from "./tables";

type Draft = Record<Reading, string>;
const BLANK: Draft = { pulse: "", systolic: "", diastolic: "", saturation: "", breathing: "" };
/** The modality whose dye makes an oximeter read low. */
const GREEN = "indocyanine_green";

const rule = (f: ReadingField) => ({ unit: f.unit, least: f.least, most: f.most, decimals: 0 });

/** Readings as taken, any of them. What is out of the range of a person is refused; what is odd is asked about. */
export function Readings({ state, reaction, tables, held }: ReactionProps) {
  const [d, change] = useDraft<Draft>(`emergency-readings/${state.id}`, BLANK);
  const [asked, setAsked] = useState(false);
  const readings = useReadings(1000);
  const device = app.log.device.value?.id ?? null;
  const dyes = dyeClocks(state, device, readings);
  const green = dyes.find((c) => modalityOf(held?.pack ?? null, c.dye) === GREEN);
  const read = tables.observations.map((f) => {
    const text = (d[f.id] ?? "").trim();
    const { value, fault } = text === "" ? { value: null, fault: null } : readNumber(text, rule(f));
    const odd = value !== null && (value < f.ask_below || value > f.ask_above);
    return { f, text, value, fault, odd };
  });
  const faults = read.some((r) => r.fault !== null);
  const odd = read.filter((r) => r.odd);
  const any = read.some((r) => r.text !== "");

  const save = async () => {
    if (!any || faults) return;
    if (odd.length > 0 && !asked) return setAsked(true);
    const values = Object.fromEntries(read.map((r) => [r.f.id, r.value])) as Record<Reading, number | null>;
    const body = { ...values, green_dye_s: secondsOf(green) };
    if (!(await record("reaction.observed", body, { case: state.id }))) return;
    for (const sign of signsOf(tables, values)) {
      if (!reaction.signs.get(sign)?.seen)
        await record("reaction.sign", { sign, seen: true }, { case: state.id });
    }
    setAsked(false);
    change(BLANK);
  };

  return (
    <>
      <div class="emergency-values">
        {read.map(({ f, fault }) => (
          <Fragment key={f.id}>
            <TextField
              label={`${f.text} (${f.unit})`}
              inputMode="numeric"
              value={d[f.id] ?? ""}
              onText={(text) => {
                setAsked(false);
                change({ [f.id]: text });
              }}
              maxLength={4}
              error={fault ?? undefined}
            />
            {dyes
              .filter(({ dye }) => f.dye_notes?.[dye])
              .map(({ dye }) => (
                <Notice key={dye} kind="warn" title={`${dyeName(dye)} is in`}>
                  <p>{f.dye_notes?.[dye]}</p>
                </Notice>
              ))}
          </Fragment>
        ))}
      </div>
      {asked && odd.length > 0 && (
        <Notice kind="warn" title="Is that right?" loud>
          <p>
            {odd.map(({ f, value }) => `${f.text} ${value} ${f.unit}`).join(", ")}. Look once more, or log it
            as it is.
          </p>
        </Notice>
      )}
      <Button kind="main" big wide disabled={!any || faults || saving.value > 0} onClick={() => void save()}>
        {asked && odd.length > 0 ? "Log it as it is" : "Log these readings"}
      </Button>
      {reaction.readings.length > 0 && (
        <section class="stack-tight" aria-labelledby="readings-so-far">
          <h2 id="readings-so-far">So far</h2>
          <ol class="list">
            {[...reaction.readings].reverse().map((r) => (
              <li key={r.line}>
                <span class="number">{timeOfDay(r.at)}</span>,{" "}
                {sinceText(reactionClockAt(reaction, device, r, readings))} in: {readingText(r.body)}
              </li>
            ))}
          </ol>
        </section>
      )}
    </>
  );
}
