import { Button, Icon } from "../../ui";
import { record } from "../record";
import type { ReactionProps } from "./Emergency";
import { timeOfDay } from "./remind";

const GROUPS: Record<string, string> = {
  awareness: "Awake?",
  breathing: "Breathing",
  airway: "Throat and mouth",
  circulation: "Pulse and colour",
  skin: "Skin",
  gut: "Stomach",
  needle: "At the needle",
  other: "Other",
};

/** Signs as large switches, the gravest kinds first. Each press is a line; what was seen once stays told. */
export function Signs({ state, reaction, tables }: ReactionProps) {
  const groups = Object.keys(GROUPS).filter((g) => tables.signs.some((s) => s.group === g));
  const rest = tables.signs.filter((s) => !(s.group in GROUPS));
  const one = (id: string, text: string) => {
    const mark = reaction.signs.get(id);
    const seen = mark?.seen ?? false;
    return (
      <Button
        key={id}
        pressed={seen}
        onClick={() => void record("reaction.sign", { sign: id, seen: !seen }, { case: state.id })}
      >
        {seen && <Icon name="tick" />} {text}
        {mark && (
          <span class="choice-help">
            {seen ? `since ${timeOfDay(mark.at)}` : `seen ${timeOfDay(mark.at)}, not now`}
          </span>
        )}
      </Button>
    );
  };
  return (
    <>
      <p class="quiet">
        Press what you see or are told. Press again when it is gone. Nothing is graded here.
      </p>
      {groups.map((group) => (
        <section key={group} class="stack-tight" aria-label={GROUPS[group]}>
          <h2>{GROUPS[group]}</h2>
          <div class="emergency-grid">
            {tables.signs.filter((s) => s.group === group).map((s) => one(s.id, s.text))}
          </div>
        </section>
      ))}
      {rest.length > 0 && <div class="emergency-grid">{rest.map((s) => one(s.id, s.text))}</div>}
    </>
  );
}
