import { TextField } from "../../ui";
import { PinField } from "./PinField";

export interface Typed {
  name: string;
  pin: string;
  again: string;
}

export const UNTYPED: Typed = { name: "", pin: "", again: "" };

export function isSame({ pin, again }: Typed): boolean {
  return pin !== "" && pin === again;
}

/** Who it is for, and the same PIN twice. */
export function NewPin({ typed, onType }: { typed: Typed; onType: (typed: Typed) => void }) {
  const { name, pin, again } = typed;
  return (
    <>
      <TextField
        label="Initials or staff id"
        hint="Stands beside what you log, as you claim it. It can be read on the locked phone."
        value={name}
        onText={(text) => onType({ ...typed, name: text })}
        maxLength={40}
        enterKeyHint="next"
      />
      <PinField
        label="New PIN or passphrase"
        hint="At least six digits. A passphrase of a few words is far harder to guess."
        value={pin}
        onText={(text) => onType({ ...typed, pin: text })}
      />
      <PinField
        label="The same again"
        value={again}
        onText={(text) => onType({ ...typed, again: text })}
        error={again.length >= pin.length && again !== pin ? "Not the same as above." : undefined}
      />
    </>
  );
}
