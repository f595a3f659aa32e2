import { TextField } from "../../ui";
import { newPasswordFault, PASSWORD_HINT, shortFault } from "./passwords";

/** A new password, typed twice, since nobody sees what they type. */
export function NewPassword({
  first,
  second,
  onFirst,
  onSecond,
}: {
  first: string;
  second: string;
  onFirst: (text: string) => void;
  onSecond: (text: string) => void;
}) {
  return (
    <>
      <TextField
        label="New password"
        type="password"
        hint={PASSWORD_HINT}
        value={first}
        onText={onFirst}
        error={shortFault(first, second)}
        autocomplete="new-password"
      />
      <TextField
        label="New password, again"
        type="password"
        value={second}
        onText={onSecond}
        error={newPasswordFault(first, second)}
        autocomplete="new-password"
      />
    </>
  );
}
