/** The little of JSON Schema that a form needs. The schema comes from the server, made of the pack's own structures. */

export type Plain = unknown;
export type Row = Record<string, Plain>;

export interface Schema {
  $ref?: string;
  $defs?: Record<string, Schema>;
  type?: string;
  title?: string;
  enum?: (string | number)[];
  anyOf?: Schema[];
  items?: Schema | false;
  prefixItems?: Schema[];
  properties?: Record<string, Schema>;
  additionalProperties?: Schema | boolean;
  required?: string[];
}

export type Kind = "choice" | "flag" | "number" | "text" | "choices" | "lines" | "pair" | "table" | "map";

/** The schema itself, behind references and "or nothing". */
export function behind(schema: Schema, root: Schema): Schema {
  if (schema.$ref) return behind(root.$defs?.[schema.$ref.split("/").at(-1) ?? ""] ?? {}, root);
  const some = schema.anyOf?.find((option) => option.type !== "null");
  return some ? behind(some, root) : schema;
}

export function kindOf(schema: Schema, root: Schema): Kind {
  const of = behind(schema, root);
  if (of.enum) return "choice";
  if (of.type === "boolean") return "flag";
  if (of.type === "number" || of.type === "integer") return "number";
  if (of.type === "array") {
    if (of.prefixItems) return "pair";
    return of.items && behind(of.items, root).enum ? "choices" : "lines";
  }
  if (of.properties) return "table";
  return of.type === "object" ? "map" : "text";
}

/** A number as it is typed, with the digits 0 to 9; anything else stays text, and the server says what is wrong with it. */
export function typedNumber(text: string): number | string | undefined {
  const tidy = text.trim();
  if (tidy === "") return undefined;
  return /^-?[0-9]+(\.[0-9]+)?$/.test(tidy) ? Number(tidy) : text;
}

export const shownNumber = (value: Plain): string => (value === undefined ? "" : String(value));

export const shownPair = (value: Plain): string =>
  Array.isArray(value) ? value.map(shownNumber).join(", ") : shownNumber(value);

export const typedPair = (text: string): Plain => text.split(",").map((part) => typedNumber(part) ?? "");

/** A list, an entry a line. */
export function shownLines(value: Plain): string {
  return Array.isArray(value) ? value.map(shownPair).join("\n") : shownNumber(value);
}

export function typedLines(text: string, item: Kind): Plain[] {
  const lines = text.split("\n").filter((line) => line.trim() !== "");
  if (item === "pair") return lines.map(typedPair);
  return item === "number" ? lines.map((line) => typedNumber(line) ?? "") : lines.map((line) => line.trim());
}

/** A table with a key set, or left out where there is nothing. */
export function withKey(row: Row, key: string, value: Plain): Row {
  const { [key]: _, ...rest } = row;
  if (value === undefined) return rest;
  return key in row ? { ...row, [key]: value } : { ...rest, [key]: value };
}
