import { useEffect, useState } from "preact/hooks";
import type { Draft, Form, Forms } from "../../types.gen";
import { Fold, LinkButton, Tag } from "../../ui";
import { useAsked } from "../asked";
import { Tabs } from "../packs/Tabs";
import { Waiting } from "../parts/states";
import { moment } from "../when";
import { faultsAt, nameOf, placeHref, placeOf, placesOf } from "./address";
import { Compile } from "./Compile";
import { DraftDifference } from "./DraftDifference";
import { EntryForm } from "./EntryForm";

const LOOK_AGAIN_MS = 2000;

/** One draft: what is in it, what is wrong with it, what it changes; or, with a table in the address, its form. */
export function DraftPage({ id, params }: { id: string; params: URLSearchParams }) {
  const { answer, value, again } = useAsked<Draft>(`/api/drafts/${encodeURIComponent(id)}`);
  const forms = useAsked<Forms>("/api/draft-forms");
  const [saved, setSaved] = useState<Draft | null>(null); // newer than what was asked for last
  const newest =
    saved?.draft === id && !(value?.draft === id && value.number >= saved.number) ? saved : value;
  const draft = newest?.draft === id ? newest : null;
  const running = draft?.job?.state === "running";
  useEffect(() => {
    if (!running || answer === null) return;
    const timer = setTimeout(again, LOOK_AGAIN_MS);
    return () => clearTimeout(timer);
  }, [running, answer]);
  const place = forms.value && placeOf(forms.value.forms, params);
  return (
    <div class="stack">
      <h1>
        {draft && place
          ? `Draft: ${place.form.file.endsWith("/") ? `${place.form.title}, ` : ""}${nameOf(draft, place)}`
          : "Draft of a pack"}
      </h1>
      <Tabs page="drafts" />
      <Waiting
        answer={answer ?? (draft ? { state: "ready", value: draft } : null)}
        what="the draft"
        again={again}
      />
      <Waiting answer={forms.answer} what="what can be edited" again={forms.again} />
      {draft && forms.value && place && (
        <EntryForm
          key={`${id} ${params}`}
          draft={draft}
          place={place}
          copyOf={params.has("copy") ? Number(params.get("copy")) : null}
          onSaved={setSaved}
        />
      )}
      {draft && forms.value && !place && <Overview draft={draft} forms={forms.value.forms} again={again} />}
    </div>
  );
}

function Overview({ draft, forms, again }: { draft: Draft; forms: Form[]; again: () => void }) {
  const shown = forms.flatMap((form) => placesOf(draft, form).flatMap((place) => faultsAt(draft, place)));
  return (
    <>
      <p>
        Save {draft.number}.{" "}
        {draft.faults.length === 0 ? (
          <Tag icon="tick">no fault</Tag>
        ) : (
          <Tag icon="danger">{draft.faults.length === 1 ? "1 fault" : `${draft.faults.length} faults`}</Tag>
        )}
      </p>
      {draft.faults.length > shown.length && (
        <ul class="packs-differences" aria-label="Every fault">
          {draft.faults.map((fault) => (
            <li key={`${fault.file} ${fault.key} ${fault.reason}`}>
              <strong>
                {fault.file} {fault.key}
              </strong>
              : {fault.reason}
            </li>
          ))}
        </ul>
      )}
      <Compile draft={draft} again={again} />
      {forms.map((form) => (
        <Tables key={form.id} draft={draft} form={form} />
      ))}
      <DraftDifference draft={draft} />
      <section class="desk-part" aria-label="Saves">
        <h2>Saves</h2>
        <Fold word={`Show ${draft.saves.length}`}>
          <ol reversed class="stack">
            {draft.saves.map((save) => (
              <li key={save.number}>
                {moment(save.at)} by {save.by}: {save.what || "began"}
              </li>
            ))}
          </ol>
        </Fold>
      </section>
    </>
  );
}

function Tables({ draft, form }: { draft: Draft; form: Form }) {
  const places = placesOf(draft, form);
  const faults = places.reduce((sum, place) => sum + faultsAt(draft, place).length, 0);
  const list = (
    <ul class="draft-places">
      {places.map((place) => (
        <li key={`${place.file} ${place.index}`}>
          <a class="desk-clear" href={placeHref(draft.draft, place)}>
            {nameOf(draft, place)}
          </a>
          {faultsAt(draft, place).map((fault) => (
            <p key={`${fault.key} ${fault.reason}`} class="field-error">
              {fault.key}: {fault.reason}
            </p>
          ))}
        </li>
      ))}
    </ul>
  );
  return (
    <section class="desk-part" aria-label={form.title}>
      <h2>{form.title}</h2>
      {places.length > 8 ? (
        <Fold word={`Show ${places.length}`} open={faults > 0}>
          {list}
        </Fold>
      ) : (
        list
      )}
      {form.key && (
        <LinkButton href={placeHref(draft.draft, { form, file: form.file, index: -1 })}>
          Add to {form.title.toLowerCase()}
        </LinkButton>
      )}
    </section>
  );
}
