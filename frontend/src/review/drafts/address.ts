/** Which table of a draft is edited: in the address of the page, and in what the server is told. */

import type { Draft, Form, PackFault } from "../../types.gen";
import { hrefOf } from "../route";
import type { Row } from "./schema";

export interface Place {
  form: Form;
  file: string;
  /** Null: the top of the file; -1: a new entry. */
  index: number | null;
}

export function placeOf(forms: Form[], params: URLSearchParams): Place | null {
  const form = forms.find((one) => one.id === params.get("form"));
  if (!form) return null;
  const file = form.file.endsWith("/") ? `${form.file}${params.get("of") ?? ""}.toml` : form.file;
  return { form, file, index: form.key ? Number(params.get("entry") ?? -1) : null };
}

export function placeHref(draft: string, { form, file, index }: Place, copyOf?: number): string {
  const params = new URLSearchParams({ form: form.id });
  if (form.file.endsWith("/")) params.set("of", languageOf(file));
  if (index !== null) params.set("entry", String(index));
  if (copyOf !== undefined) params.set("copy", String(copyOf));
  return hrefOf("draft", draft, params);
}

export const languageOf = (file: string): string => file.replace(/^.*\//, "").replace(/\.toml$/, "");

/** Every table that a form is for. */
export function placesOf(draft: Draft, form: Form): Place[] {
  if (form.key) return entries(draft, form).map((_, index) => ({ form, file: form.file, index }));
  const files = Object.keys(draft.tables).filter(
    (file) => file === form.file || (form.file.endsWith("/") && file.startsWith(form.file)),
  );
  return files.map((file) => ({ form, file, index: null }));
}

export function entries(draft: Draft, form: Form): Row[] {
  const found = draft.tables[form.file]?.[form.key];
  return Array.isArray(found) ? (found as Row[]) : [];
}

/** The table as the draft has it, without the lists that the form does not hold. */
export function rowAt(draft: Draft, { form, file, index }: Place): Row | null {
  if (index !== null) return entries(draft, form)[index] ?? null;
  const top = draft.tables[file];
  if (!top) return null;
  return Object.fromEntries(Object.entries(top).filter(([key]) => !form.kept.includes(key)));
}

export function nameOf(draft: Draft, place: Place): string {
  if (place.index === null) return place.form.file.endsWith("/") ? languageOf(place.file) : place.form.title;
  const row = rowAt(draft, place);
  const said = row && (row.name ?? row.text ?? row.id);
  return typeof said === "string" && said ? said : `the entry ${place.index + 1}`;
}

/** The faults of one table, their keys as from its own top. */
export function faultsAt(draft: Draft, place: Place): PackFault[] {
  const id = rowAt(draft, place)?.id;
  const here = draft.faults.filter((fault) => fault.file === place.file);
  if (place.index === null) return here.filter((fault) => !place.form.kept.includes(head(fault.key)));
  const named = typeof id === "string" && id ? id : `#${place.index + 1}`;
  const prefix = `${place.form.key}[${named}]`;
  return here
    .filter((fault) => fault.key === prefix || fault.key.startsWith(`${prefix}.`))
    .map((fault) => ({ ...fault, key: fault.key.slice(prefix.length + 1) }));
}

const head = (key: string): string => key.split(/[.[]/)[0] ?? "";

/** Is a fault about this key, or about something in it? */
export const concerns = (fault: PackFault, key: string): boolean =>
  fault.key === key || fault.key.startsWith(`${key}.`) || fault.key.startsWith(`${key}[`);
