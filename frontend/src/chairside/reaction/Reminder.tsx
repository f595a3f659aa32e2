import { useEffect, useState } from "preact/hooks";
import type { Reaction } from "../../log";
import { Button, Notice } from "../../ui";
import { useNow } from "../now";
import { cues, give, readySound } from "../series/cues";
import { remindersDue } from "./remind";
import type { Tables } from "./tables";

/** Asks again and again, by the pack's interval, in words and by what is allowed of sound, shaking and voice. */
export function Reminder({ reaction, tables }: { reaction: Reaction; tables: Tables }) {
  const now = useNow(1000);
  const due = remindersDue(reaction.at, now, tables.remind_s);
  const [seen, setSeen] = useState(() => remindersDue(reaction.at, Date.now(), tables.remind_s));
  useEffect(() => {
    // sound needs a touch first; whoever opened this page has just given one
    readySound();
  }, []);
  useEffect(() => {
    if (due > seen) give("late", tables.remind_text);
  }, [due]);
  if (due <= seen) return null;
  return (
    <Notice kind="warn" title="Look again" loud>
      <p>{tables.remind_text}</p>
      <Button onClick={() => setSeen(due)}>Looked</Button>
      {!cues.value.sound && !cues.value.vibration && !cues.value.speech && (
        <p class="t-small">Sound, shaking and voice are off in the settings.</p>
      )}
    </Notice>
  );
}
