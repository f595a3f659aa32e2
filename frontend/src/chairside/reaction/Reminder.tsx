import { useEffect, useRef, useState } from "preact/hooks";
import type { Reaction } from "../../log";
import { Button, Notice } from "../../ui";
import { app } from "../app";
import { useReadings } from "../Since";
import { cues, give, readySound } from "../series/cues";
import { asksAgain, noLater, reactionClock, remindersDue } from "./remind";
import type { Tables } from "./tables";

/** Asks again and again, by the pack's interval, in words and by what is allowed of sound, shaking and voice. */
export function Reminder({ reaction, tables }: { reaction: Reaction; tables: Tables }) {
  const readings = useReadings(1000);
  const clock = reactionClock(reaction, app.log.device.value?.id ?? null, readings);
  const due = remindersDue(clock, tables.remind_s);
  const mono = readings.at(-1)?.mono ?? 0;
  const [, looked] = useState(0);
  const seen = useRef(due);
  seen.current = noLater(seen.current, due);
  // what this page counts by itself, whatever becomes of either clock: it never falls silent
  const lookedAt = useRef(mono);
  const cuedAt = useRef(Number.NEGATIVE_INFINITY);
  const every_ms = tables.remind_s * 1000;
  const asks = every_ms > 0 && (asksAgain(due, seen.current) || mono - lookedAt.current >= every_ms);
  useEffect(() => {
    // sound needs a touch first; whoever opened this page has just given one
    readySound();
  }, []);
  useEffect(() => {
    if (!asks || mono - cuedAt.current < every_ms) return;
    cuedAt.current = mono;
    give("late", tables.remind_text);
  });
  if (!asks) return null;
  const look = () => {
    seen.current = due;
    lookedAt.current = mono;
    cuedAt.current = Number.NEGATIVE_INFINITY;
    looked(mono);
  };
  return (
    <Notice kind="warn" title="Look again" loud>
      <p>{tables.remind_text}</p>
      {clock.seconds === null && (
        <p class="t-small">The clock is uncertain, so this asks by whichever reading says that it is time.</p>
      )}
      <Button onClick={look}>Looked</Button>
      {!cues.value.sound && !cues.value.vibration && !cues.value.speech && (
        <p class="t-small">Sound, shaking and voice are off in the settings.</p>
      )}
    </Notice>
  );
}
