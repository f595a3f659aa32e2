import { useEffect, useRef } from "preact/hooks";
import { type CaseState, type Reaction, running } from "../../log";
import type { Held } from "../../pack";
import { Button, Fold, Notice, Sheet } from "../../ui";
import { app, isLocked } from "../app";
import { useDraft } from "../drafts";
import { later } from "../later";
import { contactsFor, OpeningWords } from "../overlays/EmergencyBody";
import { closeOver, route } from "../router";
import { useWakeLock } from "../wake";
import { begin, everSeen, pressed } from "./begin";
import { Clocks } from "./Clocks";
import { Done } from "./Done";
import { Help } from "./Help";
import { PracticeTag } from "./PracticeMark";
import { Readings } from "./Readings";
import { Reminder } from "./Reminder";
import { forgetOpen, rememberOpen } from "./reopen";
import { Signs } from "./Signs";
import { type Criterion, met, type Tables, tablesOf } from "./tables";

// what is asked when the reaction is over; help, signs, actions and values never wait
const End = later(() => import("../further").then((m) => m.End));

const TABS = [
  { id: "help", word: "Help" },
  { id: "signs", word: "Signs" },
  { id: "done", word: "Actions" },
  { id: "readings", word: "Values" },
  { id: "end", word: "End" },
] as const;
type Tab = (typeof TABS)[number]["id"];

export interface ReactionProps {
  /** The case, or the lines under an id of their own where no case was open. */
  state: CaseState;
  reaction: Reaction;
  tables: Tables;
  held: Held | null;
}

/**
 * The way out. It opens with what to do and whom to call, and needs no case, no guidance and no working store for that.
 * What it records is one tap a line. It only ever sends for help: it shows no class, and never says that all is well.
 */
export function Emergency({ state, held }: { state: CaseState | undefined; held: Held | null }) {
  const now = pressed.value;
  const own = state ?? (now ? app.log.cases.value.find((c) => c.id === now.case) : undefined);
  const reaction = own ? running(own) : null;
  const key = own?.id ?? now?.case ?? "none";
  const [{ tab }, change] = useDraft<{ tab: Tab }>(`emergency/${key}`, { tab: "help" });
  const dead = app.log.failure.value !== null || app.log.device.value === null;
  const began = reaction ?? (own === undefined || own.id === now?.case ? now : null);
  const tables = tablesOf(held?.pack ?? null);
  useWakeLock(true);
  useEffect(() => {
    if (reaction && own) rememberOpen(own.id);
  }, [reaction?.line, own?.id]);
  useEffect(
    () => () => {
      forgetOpen();
      pressed.value = null;
    },
    [],
  );

  const contacts = contactsFor(held?.pack.emergency.contacts ?? [], app.log.device.value?.site ?? null);
  const reached = reaction ? met(tables, everSeen(own, reaction)) : [];
  const at: Tab = reaction || tab === "end" ? tab : "help";
  return (
    <Sheet
      danger
      title="Emergency"
      onClose={closeOver}
      foot={
        reaction && (
          <nav class="emergency-tabs" aria-label="Parts of this page">
            {TABS.map((t) => (
              <Button key={t.id} pressed={at === t.id} onClick={() => change({ tab: t.id })}>
                {t.word}
              </Button>
            ))}
          </nav>
        )
      }
    >
      <div class="stack">
        {at === "help" && <OpeningWords page={held?.pack.emergency ?? null} />}
        <Clocks
          began={began}
          state={own}
          first={contacts[0]}
          small={at !== "help"}
          called={reached.length > 0}
        />
        {own?.practice && (
          <div class="row">
            <PracticeTag state={own} />
          </div>
        )}
        {isLocked() && (
          <p class="t-small quiet">
            The phone is locked: it records all, and what was recorded before is not shown.
          </p>
        )}
        {reaction && <Reached tables={tables} reached={reached} />}
        {reaction && <Reminder reaction={reaction} tables={tables} />}
        {at === "help" && (
          <Help page={held?.pack.emergency ?? null} tables={tables}>
            {dead && (
              <Notice kind="warn" title="Nothing can be recorded on this phone now">
                <p>Write the times on paper, and log the event when it works again.</p>
              </Notice>
            )}
            {!dead && !reaction && began === null && (
              <Button wide onClick={() => begin(route.peek())}>
                Start the record
              </Button>
            )}
          </Help>
        )}
        {reaction && own && at === "signs" && (
          <Signs state={own} reaction={reaction} tables={tables} held={held} />
        )}
        {reaction && own && at === "done" && (
          <Done state={own} reaction={reaction} tables={tables} held={held} />
        )}
        {reaction && own && at === "readings" && (
          <Readings state={own} reaction={reaction} tables={tables} held={held} />
        )}
        {reaction && own && at === "end" && (
          <End state={own} reaction={reaction} tables={tables} held={held} />
        )}
      </div>
    </Sheet>
  );
}

/** What the clinic's criteria call for, once met; it stays until the end, whatever is seen no longer. */
function Reached({ tables, reached }: { tables: Tables; reached: Criterion[] }) {
  const shown = useRef<HTMLDivElement>(null);
  useEffect(() => {
    // newly met, perhaps far down the list of signs: it must be seen
    if (reached.length > 0) shown.current?.closest(".sheet-body")?.scrollTo(0, 0);
  }, [reached.length]);
  if (reached.length === 0) return null;
  return (
    <div ref={shown}>
      <Notice kind="danger" title={tables.escalation || "Call for help now."} loud>
        <Fold word="By what">
          <ul class="bullets">
            {reached.map((c) => (
              <li key={c.id}>{c.text}</li>
            ))}
          </ul>
        </Fold>
      </Notice>
    </div>
  );
}
