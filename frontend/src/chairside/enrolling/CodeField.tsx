import { tidyCode } from "../../log";
import { TextField } from "../../ui";

/** Whether a tidied code has all of its letters. */
export function isWhole(code: string): boolean {
  return code.length === 9;
}

/** The one-time code that the clinic lead makes for a phone. */
export function CodeField({ code, onCode }: { code: string; onCode: (code: string) => void }) {
  return (
    <TextField
      label="Code"
      hint="Eight letters and digits, as XXXX-XXXX"
      value={code}
      onText={(text) => onCode(tidyCode(text))}
      autocapitalize="characters"
      maxLength={16}
      enterKeyHint="next"
    />
  );
}
