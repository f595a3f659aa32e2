/** A second person works it through by themselves, and says in their own name whether it agrees. */
import type { CaseState, Noted } from "../../log";
import type { DoseWorked, Dosing } from "../../types.gen";
import { Button, TextArea, TextField } from "../../ui";
import { actor } from "../app";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { NOBODY, Person, samePerson, whoLacks } from "../screening/Person";

const LEAST_ORDER = 5;
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
}: {
  state: CaseState;
  dosing: Dosing;
  dye: string;
  workedBy: string | null;
  /** The dose that is compared; null for the physician's own order. */
  dose?: Noted<DoseWorked> | null;
  /** The physician's own order is checked, which stands in the note; not what the phone worked. */
  order?: boolean;
}) {
  const [draft, change, drop] = useDraft(`${order ? "order" : "check"}/${state.id}/${dye}`, {
    ...NOBODY,
    note: "",
    worked: "",
  });
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
    };
    const body = order ? { ...said, what: "order" as const } : said;
    if ((await record("dose.checked", body, { case: state.id })) !== null) drop();
  };
  const closed = lacks !== null || same || saving.value > 0;
  return (
    <section class="card stack" aria-label="Second person">
      <h2>Second person</h2>
      <p>
        {order
          ? "Take the physician's order, the vial and the syringe yourself, and compare them. A check that only reads along is no check."
          : "Take the weight, the rule and the vial yourself, work it through, then compare with the line above. A check that only reads along is no check."}
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
        <Button kind="main" big disabled={closed} onClick={() => void say(true)}>
          It agrees
        </Button>
      </div>
    </section>
  );
}
