import { useId } from "preact/hooks";
import { Icon } from "./icons";

interface Shared {
  label: string;
  value: string;
  onText: (text: string) => void;
  hint?: string | undefined;
  /** Why the value is refused. */
  error?: string | undefined;
  /** Something to think about; the value is accepted. */
  warning?: string | undefined;
}

/** Only what a field of ours needs; anything more is a reason to think again. */
interface InputRest {
  autocapitalize?: "off" | "characters" | "sentences";
  inputMode?: "text" | "numeric" | "decimal";
  maxLength?: number;
  type?: "text" | "password";
  autocomplete?: "off" | "username" | "current-password" | "new-password" | "one-time-code";
  enterKeyHint?: "next" | "done" | "go";
}

export function TextField({
  label,
  value,
  onText,
  hint,
  error,
  warning,
  type = "text",
  autocomplete = "off",
  ...rest
}: Shared & InputRest) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <Hint id={id} hint={hint} />
      <input
        key={madeFor(rest.maxLength)}
        spellcheck={false}
        {...rest}
        // told apart for the compiler only: the two kinds of input have types that share no member
        {...(type === "password" ? { type } : { type })}
        autocomplete={autocomplete}
        id={id}
        value={value}
        onInput={(event) => onText(event.currentTarget.value)}
        {...(error ? { "aria-invalid": "true" as const } : {})}
        {...described(id, hint, error, warning)}
      />
      <Said id={id} error={error} warning={warning} />
    </div>
  );
}

export function TextArea({
  label,
  value,
  onText,
  hint,
  error,
  warning,
  maxLength,
}: Shared & { maxLength?: number }) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <Hint id={id} hint={hint} />
      <textarea
        key={madeFor(maxLength)}
        id={id}
        value={value}
        rows={2}
        autocomplete="off"
        {...(maxLength ? { maxLength } : {})}
        onInput={(event) => onText(event.currentTarget.value)}
        {...(error ? { "aria-invalid": "true" as const } : {})}
        {...described(id, hint, error, warning)}
      />
      <Said id={id} error={error} warning={warning} />
    </div>
  );
}

/** A limit cannot be taken off an element again: the next view, which has none, gets one of its own. */
function madeFor(maxLength: number | undefined): string {
  return maxLength ? "limited" : "free";
}

function described(id: string, hint?: string, error?: string, warning?: string) {
  const ids = [hint ? `${id}-hint` : "", error || warning ? `${id}-said` : ""].filter(Boolean).join(" ");
  return ids ? { "aria-describedby": ids } : {};
}

function Hint({ id, hint }: { id: string; hint: string | undefined }) {
  if (!hint) return null;
  return (
    <p class="t-small quiet" id={`${id}-hint`}>
      {hint}
    </p>
  );
}

function Said({
  id,
  error,
  warning,
}: {
  id: string;
  error: string | undefined;
  warning: string | undefined;
}) {
  if (!error && !warning) return null;
  return (
    <p class={`field-error ${error ? "" : "field-warning"}`} id={`${id}-said`} role="alert">
      <Icon name={error ? "danger" : "warn"} />
      <span>{error || warning}</span>
    </p>
  );
}
