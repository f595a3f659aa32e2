/** A second person works it through by themselves, before they see what the phone worked, and says in their own name
 * whether it agrees. */
import type { ComponentChildren } from "preact";
import type { CaseState, Noted } from "../../log";
import type { DoseWorked, Dosing } from "../../types.gen";
import { Button, Notice, type NumberRule, readNumber, TextArea, TextField } from "../../ui";
import { actor } from "../app";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { NOBODY, Person, samePerson, whoLacks } from "../screening/Person";

const LEAST_ORDER = 5;
const OWN_VOLUME: NumberRule = { unit: "mL", least: 0, most: 1000, decimals: 4 };
const CHECKED_BY_OTHER = {
  working: "That is who worked it. The check needs another person.",
  order: "That is who this phone is signed in as. The check needs another person.",
} as const;

export function SecondCheck({
  state,
  dosing,
  dye,
  workedBy,
  dose = null,
  order = false,
  card = null,
}: {
  state: CaseState;
  dosing: Dosing;
  dye: string;
  workedBy: string | null;
  /** The dose that is compared; null for the physician's own order. */
  dose?: Noted<DoseWorked> | null;
  /** The physician's own order is checked, which stands in the note; not what the phone worked. */
  order?: boolean;
  /** What the phone worked: kept from the second person until theirs stands. */
  card?: ComponentChildren;
}) {
  const [draft, change, drop] = useDraft(`${order ? "order" : "check"}/${state.id}/${dose?.line ?? dye}`, {
    ...NOBODY,
    note: "",
    worked: "",
    own: "",
    /** Once both are shown, the own figure is no longer blind and stays as it is. */
    compared: null as "own" | "by_hand" | null,
  });
  const own = readNumber(draft.own, OWN_VOLUME);
  const alike = draft.compared !== "own" || Number(dose?.body.volume_ml) === own.value;
  // where the phone has no name for whoever worked it, they say it: nobody is not another person
  // who this phone is signed in as now says nothing of who worked it; an order is taken down here and now
  const known = order ? (workedBy ?? actor.value) : workedBy;
  const worked = known ?? draft.worked.trim();
  const same = samePerson(worked, draft.by);
  const lacks =
    (worked.length < 2 ? "Enter who worked it: initials or a staff id." : null) ??
    whoLacks(draft) ??
    (order && draft.note.trim().length < LEAST_ORDER
      ? "Note the order as it was said aloud, and who gave it."
      : null);
  const say = async (agrees: boolean): Promise<void> => {
    if (lacks !== null || same) return;
    const said = {
      dye,
      by: draft.by.trim(),
      role: draft.role,
      agrees,
      note: draft.note.trim(),
      worked_by: worked,
      dose_line: dose?.line ?? null,
      volume_ml: dose?.body.volume_ml ?? null,
      own_volume_ml: draft.compared === "own" ? String(own.value) : null,
    };
    const body = order ? { ...said, what: "order" as const } : said;
    if ((await record("dose.checked", body, { case: state.id })) !== null) drop();
  };
  const closed = lacks !== null || same || saving.value > 0;
  if (dose !== null && draft.compared === null) {
    return (
      <section key="blind" class="card stack" aria-label="Second person">
        <h2>Second person: your own figure first</h2>
        <p>
          Take the weight, the rule and the vial yourself, and work it through. What the phone worked is shown
          beside yours afterwards.
        </p>
        <TextField
          label="Volume to draw up, in mL"
          inputMode="decimal"
          value={draft.own}
          onText={(text) => change({ own: text })}
          error={draft.own.trim() === "" ? undefined : (own.fault ?? undefined)}
        />
        <Button
          kind="main"
          big
          wide
          disabled={own.value === null}
          onClick={() => change({ compared: "own" })}
        >
          Compare
        </Button>
        <Button wide onClick={() => change({ compared: "by_hand" })}>
          I worked it out by hand: show both
        </Button>
      </section>
    );
  }
  return (
    <>
      {card}
      <section key="both" class="card stack" aria-label="Second person">
        <h2>Second person</h2>
        {draft.compared === "own" && (
          <Notice
            kind={alike ? "done" : "danger"}
            title={alike ? "Both came to the same volume" : "The two volumes differ"}
          >
            <p>
              Yours <span class="number strong">{draft.own.trim()} mL</span>, the phone's{" "}
              <span class="number strong">{dose?.body.volume_ml} mL</span>.
            </p>
            {!alike && (
              <>
                <p>Different figures are no agreement. Say that it differs, or work yours again.</p>
                <Button onClick={() => change({ own: "", compared: null })}>Work mine again</Button>
              </>
            )}
          </Notice>
        )}
        <p>
          {order
            ? "Take the physician's order, the vial and the syringe yourself, and compare them. A check that only reads along is no check."
            : "Compare your own working with the line above. A check that only reads along is no check."}
        </p>
        {known === null && (
          <TextField
            label={order ? "Taken down by" : "Worked by"}
            hint="Initials or staff id, not a full name."
            value={draft.worked}
            onText={(text) => change({ worked: text })}
            autocapitalize="characters"
            maxLength={40}
            warning={looksLikePerson(draft.worked) ?? undefined}
          />
        )}
        <Person
          legend="Checked by"
          roles={dosing.checker_roles}
          who={draft}
          onWho={change}
          error={same ? CHECKED_BY_OTHER[order ? "order" : "working"] : undefined}
        />
        <TextArea
          label={
            order
              ? "The order, as said aloud, and who gave it"
              : "What they get, where it differs (may stay empty)"
          }
          hint={NO_NAMES}
          value={draft.note}
          onText={(note) => change({ note })}
          maxLength={300}
          warning={looksLikePerson(draft.note) ?? undefined}
        />
        {lacks !== null && <p class="t-small quiet">{lacks}</p>}
        <div class="halves">
          <Button kind="danger" big disabled={closed} onClick={() => void say(false)}>
            It differs
          </Button>
          <Button kind="main" big disabled={closed || !alike} onClick={() => void say(true)}>
            It agrees
          </Button>
        </div>
      </section>
    </>
  );
}
