import { useId } from "preact/hooks";
import { Icon } from "./icons";
import { widestWord } from "./widest";

/** Anything with an id and words can be picked from; the guidance pack's choices fit as they are. */
export interface Option {
  id: string;
  text: string;
  help?: string;
  /** Where the words are in another language than the page. */
  lang?: string;
}

interface Shared {
  legend: string;
  /** The legend is only read out, where the heading above already says it. */
  hideLegend?: boolean;
  hint?: string | undefined;
  error?: string | undefined;
  options: readonly Option[];
  /** Side by side where there is room. */
  across?: boolean;
}

/** Pick one. Picking the picked one again clears it only when `clearable`. */
export function PickOne({
  value,
  onPick,
  clearable,
  ...shared
}: Shared & {
  value: string | null;
  onPick: (id: string | null) => void;
  clearable?: boolean;
}) {
  const name = useId();
  return (
    <Group {...shared} columns={shared.across ? shared.options : null}>
      {shared.options.map((option) => (
        <Item
          key={option.id}
          one
          name={name}
          option={option}
          picked={value === option.id}
          onToggle={() => onPick(clearable && value === option.id ? null : option.id)}
        />
      ))}
    </Group>
  );
}

/** Pick any number. `onPick` gets the whole new list, in the order of the options; what no option stands for stays. */
export function PickMany({
  values,
  onPick,
  ...shared
}: Shared & {
  values: readonly string[];
  onPick: (ids: string[]) => void;
}) {
  const name = useId();
  const toggle = (id: string) => {
    const offered = shared.options.map((o) => o.id);
    onPick([
      ...values.filter((v) => !offered.includes(v)),
      ...offered.filter((o) => (o === id ? !values.includes(o) : values.includes(o))),
    ]);
  };
  return (
    <Group {...shared} columns={shared.across ? shared.options : null}>
      {shared.options.map((option) => (
        <Item
          key={option.id}
          name={name}
          option={option}
          picked={values.includes(option.id)}
          onToggle={() => toggle(option.id)}
        />
      ))}
    </Group>
  );
}

/** Two to four short words side by side, one of which holds. */
export function Segmented<T extends string>({
  value,
  onPick,
  ...shared
}: Omit<Shared, "options" | "across"> & {
  options: readonly { id: T; text: string }[];
  value: T | null;
  onPick: (id: T) => void;
}) {
  const name = useId();
  return (
    <Group {...shared} wrap="segments" columns={null}>
      {shared.options.map((option) => (
        <Item
          key={option.id}
          one
          plain
          name={name}
          option={option}
          picked={value === option.id}
          onToggle={() => onPick(option.id)}
        />
      ))}
    </Group>
  );
}

function Group({
  legend,
  hideLegend,
  hint,
  error,
  wrap = "choices",
  columns,
  children,
}: Omit<Shared, "options"> & {
  wrap?: string;
  /** What stands side by side, as far as each word of it stays whole. */
  columns: readonly Option[] | null;
  children: preact.ComponentChildren;
}) {
  const id = useId();
  const described = [hint ? `${id}-hint` : "", error ? `${id}-error` : ""].filter(Boolean).join(" ");
  return (
    <fieldset class="group field" {...(described ? { "aria-describedby": described } : {})}>
      <legend class={hideLegend ? "only-heard" : ""}>{legend}</legend>
      {hint && (
        <p class="t-small quiet" id={`${id}-hint`}>
          {hint}
        </p>
      )}
      {columns === null ? (
        <div class={wrap}>{children}</div>
      ) : (
        <div class="choices-across" style={{ "--word": `${widestWord(columns.map((o) => o.text))}em` }}>
          {children}
        </div>
      )}
      {error && (
        <p class="field-error" id={`${id}-error`} role="alert">
          <Icon name="danger" />
          <span>{error}</span>
        </p>
      )}
    </fieldset>
  );
}

function Item({
  option,
  picked,
  one,
  plain,
  name,
  onToggle,
}: {
  option: Option;
  picked: boolean;
  one?: boolean;
  plain?: boolean;
  name: string;
  onToggle: () => void;
}) {
  return (
    <label class={`choice fades ${one ? "choice-one" : ""} ${picked ? "choice-picked" : ""}`}>
      <input
        type={one ? "radio" : "checkbox"}
        name={name}
        value={option.id}
        checked={picked}
        onClick={one && picked ? onToggle : undefined}
        onChange={onToggle}
      />
      {plain ? (
        <Icon name="tick" />
      ) : (
        <span class="choice-mark" aria-hidden="true">
          <Icon name="tick" />
        </span>
      )}
      <span>
        {option.lang ? <span lang={option.lang}>{option.text}</span> : option.text}
        {option.help && <span class="choice-help">{option.help}</span>}
      </span>
    </label>
  );
}
