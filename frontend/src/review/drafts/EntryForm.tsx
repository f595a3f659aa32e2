import { useState } from "preact/hooks";
import type { Draft, Person, SaveRow } from "../../types.gen";
import { Button, Notice } from "../../ui";
import { type Answer, ask, person, post } from "../api";
import { Refusal } from "../parts/states";
import { hrefOf } from "../route";
import { moment } from "../when";
import { concerns, entries, faultsAt, nameOf, type Place, placeHref, rowAt } from "./address";
import { type Both, together } from "./merging";
import { type Row, type Schema, shownPair } from "./schema";
import { keepUnsaved, unsavedAt } from "./unsaved";
import { Table } from "./Value";

interface Conflict {
  saves: SaveRow[];
  made: Both;
  theirs: Row | null;
  now: Draft;
}

/** The form of one table. What is typed is kept in this tab until it is saved or dropped. */
export function EntryForm({
  draft,
  place,
  copyOf,
  onSaved,
}: {
  draft: Draft;
  place: Place;
  copyOf: number | null;
  /** The draft as it stands now. */
  onSaved: (now: Draft) => void;
}) {
  const address = `${place.file} ${place.form.key} ${place.index ?? ""}`;
  const begin = (): { number: number; was: Row; value: Row } => {
    const was = rowAt(draft, place) ?? (copyOf === null ? {} : (entries(draft, place.form)[copyOf] ?? {}));
    return unsavedAt(draft.draft, address) ?? { number: draft.number, was, value: was };
  };
  const [state, setState] = useState(begin);
  const [round, setRound] = useState(0); // the fields are made anew when their values come from elsewhere
  const [answer, setAnswer] = useState<Answer<Draft> | null>(null);
  const [conflict, setConflict] = useState<Conflict | null>(null);
  const [busy, setBusy] = useState(false);
  const fresh = place.index === -1;
  const changed = fresh || JSON.stringify(state.value) !== JSON.stringify(state.was);
  const schema = place.form.schema as Schema;
  const root = schema;
  const table = schema.$ref ? (schema.$defs?.[schema.$ref.split("/").at(-1) ?? ""] ?? {}) : schema;
  const faults = faultsAt(draft, place);
  const elsewhere = faults.filter(
    (fault) => !Object.keys(table.properties ?? {}).some((key) => concerns(fault, key)),
  );

  function typed(value: Row) {
    setState({ ...state, value });
    keepUnsaved(draft.draft, address, { ...state, value });
  }

  function from(now: Draft, index: number | null) {
    keepUnsaved(draft.draft, address, null);
    setConflict(null);
    const row = rowAt(now, { ...place, index }) ?? {};
    setState({ number: now.number, was: row, value: row });
    onSaved(now);
  }

  async function send(change: object): Promise<Draft | null> {
    setBusy(true);
    const { file, form } = place;
    const body = { seen: state.number, file, key: form.key, ...change };
    const got = await post<Draft>(`/api/drafts/${draft.draft}`, body);
    setBusy(false);
    setAnswer(got);
    if (got.state === "refused" && got.fault.code === "changed_meanwhile") await meet();
    return got.state === "ready" ? got.value : null;
  }

  /** Somebody saved meanwhile: what they changed is shown, and joined with what is typed here. */
  async function meet() {
    const got = await ask<Draft>(`/api/drafts/${draft.draft}`);
    if (got.state !== "ready") {
      setAnswer(got);
      return;
    }
    const now = got.value;
    const rows = entries(now, place.form);
    const index =
      place.index === null || fresh ? place.index : rows.findIndex((row) => row.id === state.was.id);
    const theirs = fresh ? state.was : rowAt(now, { ...place, index });
    const made = together(state.was, state.value, theirs ?? {});
    setConflict({ saves: now.saves.filter((save) => save.number > state.number), made, theirs, now });
  }

  function join(kept: Conflict) {
    const value = kept.theirs ? kept.made.value : state.value;
    const next = { number: kept.now.number, was: kept.theirs ?? {}, value };
    keepUnsaved(draft.draft, address, next);
    setState(next);
    setConflict(null);
    setAnswer(null);
    setRound(round + 1);
    onSaved(kept.now);
    const rows = entries(kept.now, place.form);
    const index = rows.findIndex((row) => row.id === state.was.id);
    if (place.index !== null && !fresh && index !== place.index) moveTo(index, next);
  }

  function moveTo(index: number, kept?: { number: number; was: Row; value: Row }) {
    keepUnsaved(draft.draft, address, null);
    if (kept) keepUnsaved(draft.draft, `${place.file} ${place.form.key} ${index}`, kept);
    location.hash = placeHref(draft.draft, { ...place, index });
  }

  async function save(event: Event) {
    event.preventDefault();
    const change = fresh ? {} : { index: place.index };
    const now = await send({ ...(place.index === null ? {} : change), value: state.value });
    if (!now) return;
    onSaved(now);
    if (fresh) moveTo(entries(now, place.form).length - 1);
    else from(now, place.index);
  }

  async function shift(to: number | null) {
    const now = await send({ index: place.index, ...(to === null ? {} : { to }) });
    if (!now) return;
    onSaved(now);
    if (to === null) {
      keepUnsaved(draft.draft, address, null);
      location.hash = hrefOf("draft", draft.draft);
    } else moveTo(to);
  }

  const last = entries(draft, place.form).length - 1;
  const listed = place.index !== null && !fresh ? place.index : null;
  return (
    <form class="stack draft-form" onSubmit={save}>
      <p>
        <a class="desk-clear" href={hrefOf("draft", draft.draft)}>
          Back to the whole draft
        </a>
      </p>
      {elsewhere.map((fault) => (
        <p key={`${fault.key} ${fault.reason}`} class="field-error">
          {fault.key}: {fault.reason}
        </p>
      ))}
      <Table
        key={`${round}`}
        label=""
        path=""
        schema={table}
        root={root}
        value={state.value}
        optional={false}
        faults={faults}
        onValue={(value) => typed(value as Row)}
      />
      {conflict ? (
        <Meeting
          conflict={conflict}
          was={state.was}
          mine={state.value}
          who={person.value}
          onJoin={() => join(conflict)}
        />
      ) : (
        <Refusal answer={answer} />
      )}
      {answer?.state === "ready" && !changed && <p role="status">Saved as save {draft.number}.</p>}
      <p class="row">
        <Button kind="main" type="submit" disabled={busy || !changed || conflict !== null}>
          Save
        </Button>
        {changed && (
          <Button
            onClick={() => {
              from(draft, place.index);
              setRound(round + 1);
              if (fresh) location.hash = hrefOf("draft", draft.draft);
            }}
          >
            Drop what is not saved
          </Button>
        )}
      </p>
      {listed !== null && (
        <p class="row">
          <Button disabled={busy || changed || listed === 0} onClick={() => shift(listed - 1)}>
            Move up
          </Button>
          <Button disabled={busy || changed || listed === last} onClick={() => shift(listed + 1)}>
            Move down
          </Button>
          <a
            class="desk-clear"
            href={placeHref(draft.draft, { ...place, index: -1 }, listed)}
            aria-label={`Copy ${nameOf(draft, place)}`}
          >
            Copy
          </a>
          <Button kind="warn" disabled={busy || changed} onClick={() => shift(null)}>
            Remove
          </Button>
        </p>
      )}
    </form>
  );
}

function Meeting({
  conflict,
  was,
  mine,
  who,
  onJoin,
}: {
  conflict: Conflict;
  was: Row;
  mine: Row;
  who: Person | null | undefined;
  onJoin: () => void;
}) {
  const { saves, made, theirs } = conflict;
  const said = (value: unknown) => (value === undefined ? "nothing" : shown(value));
  return (
    <Notice kind="warn" title="Somebody saved this draft meanwhile" loud>
      <ul>
        {saves.map((save) => (
          <li key={save.number}>
            {moment(save.at)}, {save.by === who?.name ? "you, elsewhere" : save.by}: {save.what}
          </li>
        ))}
      </ul>
      {theirs === null && <p>What you edit was removed. Saving puts it back at the end.</p>}
      {theirs !== null && made.theirs.length + made.both.length === 0 && (
        <p>Nothing of it is in this form. Yours can be saved on top.</p>
      )}
      {theirs !== null &&
        [...made.theirs, ...made.both].map((key) => (
          <p key={key}>
            <strong>{key.replaceAll("_", " ")}</strong>: was {said(was[key])}; they have {said(theirs[key])}
            {made.both.includes(key) && `; you have ${said(mine[key])}, and yours would take its place`}
          </p>
        ))}
      <Button onClick={onJoin}>Join both in the form</Button>
    </Notice>
  );
}

function shown(value: unknown): string {
  if (Array.isArray(value)) return value.map(shownPair).join("; ");
  return value !== null && typeof value === "object" ? JSON.stringify(value) : String(value);
}
