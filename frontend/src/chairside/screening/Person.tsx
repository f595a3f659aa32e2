/** Who answers for something, by initials or a staff id, and as what: never a full name. */
import { PickOne, TextField } from "../../ui";
import { looksLikePerson } from "../names";

export interface Who {
  by: string;
  role: string;
}

/** Who may release a stop where the guidance does not say. */
export const LICENSED: readonly string[] = ["Doctor", "Other licensed person"];

export const NOBODY: Who = { by: "", role: "" };

/** Why this cannot stand as a person's word; null when it can. */
export function whoLacks({ by, role }: Who): string | null {
  if (by.trim().length < 2) return "Enter initials or a staff id: at least two characters.";
  if (role.trim() === "") return "Pick the role.";
  return null;
}

export { samePerson } from "./people";

export function Person({
  legend,
  hint,
  roles,
  who,
  onWho,
  error,
}: {
  legend: string;
  hint?: string;
  roles: readonly string[];
  who: Who;
  onWho: (who: Who) => void;
  error?: string | undefined;
}) {
  return (
    <div class="stack">
      <TextField
        label={legend}
        hint={hint ?? "Initials or staff id, not a full name."}
        value={who.by}
        onText={(by) => onWho({ ...who, by })}
        autocapitalize="characters"
        maxLength={40}
        error={error}
        warning={looksLikePerson(who.by) ?? undefined}
      />
      <PickOne
        legend="Role"
        across
        options={roles.map((id) => ({ id, text: id }))}
        value={who.role === "" ? null : who.role}
        onPick={(role) => onWho({ ...who, role: role ?? "" })}
      />
    </div>
  );
}
