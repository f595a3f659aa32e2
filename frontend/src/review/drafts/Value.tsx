import { useId, useState } from "preact/hooks";
import type { PackFault } from "../../types.gen";
import { Button, PickMany, TextArea, TextField } from "../../ui";
import { Select } from "../parts/Select";
import { concerns } from "./address";
import {
  behind,
  kindOf,
  type Plain,
  type Row,
  type Schema,
  shownLines,
  shownNumber,
  shownPair,
  typedLines,
  typedNumber,
  typedPair,
  withKey,
} from "./schema";

export interface ValueProps {
  label: string;
  /** Its key, as the faults name it. */
  path: string;
  schema: Schema;
  root: Schema;
  value: Plain;
  /** What may be left out. */
  optional: boolean;
  faults: PackFault[];
  onValue: (value: Plain) => void;
}

const LONG = 40;

/** One value, by its schema. What cannot be read as its kind is kept as it was typed. */
export function Value(props: ValueProps) {
  const { label, path, schema, root, value, optional, faults, onValue } = props;
  const of = behind(schema, root);
  const error = faults
    .filter((fault) => concerns(fault, path))
    .map((fault) => fault.reason)
    .join("; ");
  const refused = error ? { error } : {};
  switch (kindOf(schema, root)) {
    case "table":
      return (
        <fieldset class="draft-table">
          <legend>{label}</legend>
          <Table {...props} schema={of} value={asRow(value)} />
        </fieldset>
      );
    case "map":
      return <Pairs {...props} schema={of} />;
    case "flag":
    case "choice": {
      const said = of.enum ?? ["true", "false"];
      const words: Record<string, string> = of.enum ? {} : { true: "yes", false: "no" };
      const options = said.map((id) => ({ id: String(id), text: words[String(id)] ?? plainWord(id) }));
      return (
        <>
          <Select
            label={label}
            value={value === undefined ? "" : String(value)}
            options={optional ? [{ id: "", text: "not given" }, ...options] : options}
            onPick={(id) => onValue(id === "" ? undefined : of.enum ? id : id === "true")}
          />
          {error && <p class="field-error">{error}</p>}
        </>
      );
    }
    case "choices": {
      const item = of.items ? behind(of.items, root) : {};
      const options = (item.enum ?? []).map((id) => ({ id: String(id), text: plainWord(id) }));
      return (
        <>
          <PickMany legend={label} options={options} values={asTexts(value)} onPick={onValue} />
          {error && <p class="field-error">{error}</p>}
        </>
      );
    }
    case "number":
      return (
        <Typed
          label={label}
          {...refused}
          start={shownNumber(value)}
          onText={(t) => onValue(typedNumber(t))}
        />
      );
    case "pair":
      return (
        <Typed
          label={label}
          {...refused}
          hint="Numbers with a comma between."
          start={shownPair(value)}
          onText={(t) => onValue(typedPair(t))}
        />
      );
    case "lines": {
      const item = of.items ? kindOf(of.items, root) : "text";
      return (
        <Typed
          label={label}
          {...refused}
          hint={item === "pair" ? "One a line: two numbers with a comma between." : "One a line."}
          area
          start={shownLines(value)}
          onText={(t) => onValue(typedLines(t, item))}
        />
      );
    }
    default:
      return (
        <Typed
          label={label}
          {...refused}
          area={typeof value === "string" && value.length > LONG}
          start={shownNumber(value)}
          onText={(text) => onValue(text === "" && optional ? undefined : text)}
        />
      );
  }
}

const asRow = (value: Plain): Row =>
  value !== null && typeof value === "object" && !Array.isArray(value) ? (value as Row) : {};
const asTexts = (value: Plain): string[] => (Array.isArray(value) ? value.map(String) : []);
const plainWord = (id: string | number): string => String(id).replaceAll("_", " ");

/** A field that holds what is typed, letter by letter, whatever becomes of it. */
function Typed({
  start,
  area,
  onText,
  ...rest
}: {
  label: string;
  start: string;
  area?: boolean;
  hint?: string;
  error?: string;
  onText: (text: string) => void;
}) {
  const [text, setText] = useState(start);
  const [long] = useState(area ?? false); // never changed under the hand
  const typed = (now: string) => {
    setText(now);
    onText(now);
  };
  const Field = long ? TextArea : TextField;
  return <Field {...rest} value={text} onText={typed} />;
}

/** A field for each key of the structure. */
export function Table({ path, schema, root, value, faults, onValue }: ValueProps & { value: Row }) {
  return (
    <>
      {Object.entries(schema.properties ?? {}).map(([key, of]) => (
        <Value
          key={key}
          label={of.title ?? key}
          path={path ? `${path}.${key}` : key}
          schema={of}
          root={root}
          value={value[key]}
          optional={!(schema.required ?? []).includes(key)}
          faults={faults}
          onValue={(now) => onValue(withKey(value, key, now))}
        />
      ))}
    </>
  );
}

/** Keys that are the clinic's own: each with its value, and room for one more. */
function Pairs({ label, path, schema, root, value, faults, onValue }: ValueProps) {
  const [added, setAdded] = useState("");
  const id = useId();
  const row = asRow(value);
  const of = typeof schema.additionalProperties === "object" ? schema.additionalProperties : {};
  const fresh = added.trim();
  const missing = faults.filter(
    (fault) => concerns(fault, path) && !Object.keys(row).some((key) => concerns(fault, `${path}.${key}`)),
  );
  return (
    <fieldset class="draft-table">
      <legend id={id}>{label}</legend>
      {missing.map((fault) => (
        <p key={fault.key} class="field-error">
          {fault.key}: {fault.reason}
        </p>
      ))}
      {Object.keys(row).map((key) => (
        <Value
          key={key}
          label={key}
          path={`${path}.${key}`}
          schema={of}
          root={root}
          value={row[key]}
          optional={false}
          faults={faults}
          onValue={(now) => onValue(withKey(row, key, now))}
        />
      ))}
      <div class="packs-pair">
        <TextField label={`Key of another of ${label}`} value={added} onText={setAdded} />
        <Button
          disabled={fresh === "" || fresh in row}
          onClick={() => {
            onValue({ ...row, [fresh]: kindOf(of, root) === "text" ? "" : {} });
            setAdded("");
          }}
        >
          Add
        </Button>
        <Button
          disabled={!(fresh in row)}
          onClick={() => {
            onValue(withKey(row, fresh, undefined));
            setAdded("");
          }}
        >
          Remove
        </Button>
      </div>
    </fieldset>
  );
}
