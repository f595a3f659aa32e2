import { useState } from "preact/hooks";
import type { CaseState, Entry } from "../../log";
import type { Held } from "../../pack";
import {
  Button,
  Notice,
  PickMany,
  PickOne,
  readNumber,
  Segmented,
  Sheet,
  TextArea,
  TextField,
} from "../../ui";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { tellEntry } from "../tell/entry";
import { clock } from "../words";
import { bodyValue, faultsOf, type Part, partsOf, shownValue } from "./parts";

type Shown = Record<string, string | string[] | boolean>;

interface Draft {
  way: "correct" | "withdraw";
  shown: Shown;
  why: string;
}

/** Puts one line right by a new line: what it should say, or that it did not happen, and why. Both stay. */
export function AmendSheet({
  state,
  held,
  entry,
  onClose,
}: {
  state: CaseState;
  held: Held | null;
  entry: Entry;
  onClose: () => void;
}) {
  const body = entry.body ?? {};
  const parts = entry.body === null ? [] : partsOf(entry.type, held?.pack ?? null, body);
  const [{ way, shown, why }, change, drop] = useDraft<Draft>(`amend/${state.id}/${entry.line}`, {
    way: parts.length > 0 ? "correct" : "withdraw",
    shown: Object.fromEntries(parts.map((part) => [part.key, shownValue(part, body[part.key])])),
    why: "",
  });
  const [asked, setAsked] = useState(false);
  const told = tellEntry(entry, held?.pack ?? null, state);
  const faults = way === "correct" ? faultsOf(parts, shown, readNumber) : {};
  const whyFault = why.trim() === "" ? "Say why, in a few words." : undefined;

  const save = async () => {
    setAsked(true);
    if (whyFault || Object.keys(faults).length > 0) {
      // what is missing may be out of sight
      setTimeout(() => document.querySelector("dialog .field-error")?.scrollIntoView({ block: "center" }));
      return;
    }
    const { salt: _salt, ...before } = body;
    const corrected = {
      ...before,
      ...Object.fromEntries(parts.map((p) => [p.key, bodyValue(p, shown[p.key] ?? "")])),
    };
    const saved = await record(
      "line.amended",
      { line: entry.line, body: way === "withdraw" ? null : corrected, why: why.trim() },
      { case: state.id },
    );
    if (!saved) return;
    drop();
    onClose();
  };

  return (
    <Sheet
      title="Amend a line"
      back="Leave it"
      onClose={onClose}
      foot={
        <Button kind="main" big wide disabled={saving.value > 0} onClick={() => void save()}>
          {way === "withdraw" ? "Say that it did not happen" : "Save the correction"}
        </Button>
      }
    >
      <div class="stack">
        <div class="card">
          <p class="strong">{told.title}</p>
          {told.detail && <p>{told.detail}</p>}
          <p class="quiet t-small">{clock(entry.at)}</p>
        </div>
        {parts.length > 0 && (
          <Segmented<"correct" | "withdraw">
            legend="What is wrong with it?"
            options={[
              { id: "correct", text: "It says the wrong thing" },
              { id: "withdraw", text: "It did not happen" },
            ]}
            value={way}
            onPick={(picked) => change({ way: picked })}
          />
        )}
        {parts.length === 0 && (
          <Notice>
            <p>This line holds nothing to correct by hand. It can be said not to have happened.</p>
          </Notice>
        )}
        {way === "correct" &&
          parts.map((part) => (
            <PartField
              key={part.key}
              part={part}
              value={shown[part.key] ?? ""}
              fault={asked ? faults[part.key] : undefined}
              onValue={(value) => change({ shown: { ...shown, [part.key]: value } })}
            />
          ))}
        <TextArea
          label="Why"
          hint={NO_NAMES}
          value={why}
          onText={(text) => change({ why: text })}
          maxLength={300}
          error={asked ? whyFault : undefined}
          warning={looksLikePerson(why) ?? undefined}
        />
        <p class="quiet t-small">The line as it was first written stays in the log, with this beside it.</p>
      </div>
    </Sheet>
  );
}

function PartField({
  part,
  value,
  fault,
  onValue,
}: {
  part: Part;
  value: string | string[] | boolean;
  fault: string | undefined;
  onValue: (value: string | string[] | boolean) => void;
}) {
  switch (part.kind) {
    case "text":
      return (
        <TextField
          label={part.label}
          value={String(value)}
          onText={onValue}
          maxLength={part.most}
          error={fault}
          warning={looksLikePerson(String(value)) ?? undefined}
        />
      );
    case "number":
      return (
        <TextField
          label={part.label}
          hint={`${part.rule.least} to ${part.rule.most} ${part.rule.unit}`.trim()}
          inputMode="decimal"
          value={String(value)}
          onText={onValue}
          error={fault}
        />
      );
    case "yesno":
      return (
        <Segmented<"yes" | "no">
          legend={part.label}
          options={[
            { id: "yes", text: "Yes" },
            { id: "no", text: "No" },
          ]}
          value={value === true ? "yes" : "no"}
          onPick={(id) => onValue(id === "yes")}
        />
      );
    case "one":
      return (
        <PickOne
          legend={part.label}
          across
          clearable={part.mayBeEmpty}
          options={part.options}
          value={String(value) || null}
          onPick={(id) => onValue(id ?? "")}
          error={fault}
        />
      );
    case "many":
      return (
        <PickMany
          legend={part.label}
          across
          options={part.options}
          values={Array.isArray(value) ? value : []}
          onPick={onValue}
          error={fault}
        />
      );
  }
}
