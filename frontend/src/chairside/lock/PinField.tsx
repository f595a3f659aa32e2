import { useState } from "preact/hooks";
import { Button, TextField } from "../../ui";

/** Digits are asked for by the keyboard that is quickest with them; a passphrase by the whole one. */
export function PinField({
  label,
  hint,
  value,
  onText,
  error,
}: {
  label: string;
  hint?: string;
  value: string;
  onText: (text: string) => void;
  error?: string | undefined;
}) {
  const [letters, setLetters] = useState(false);
  return (
    <div class="stack-tight">
      <TextField
        label={label}
        hint={hint}
        type="password"
        // so that no browser offers to keep it for whoever comes next
        autocomplete="one-time-code"
        inputMode={letters ? "text" : "numeric"}
        enterKeyHint="go"
        maxLength={128}
        value={value}
        onText={onText}
        error={error}
      />
      <Button kind="quiet" pressed={letters} onClick={() => setLetters(!letters)}>
        Keyboard with letters
      </Button>
    </div>
  );
}
