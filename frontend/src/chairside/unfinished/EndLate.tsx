import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import { Button, type NumberRule, readNumber, TextField } from "../../ui";
import { record, saving } from "../record";
import { openOver } from "../router";

/** An emergency that nobody ended: back to it where it still runs, or its end told now, with when it was as far as
 * anybody knows. */
export function EndLate({ state, line }: { state: CaseState; line: string }) {
  const reaction = state.reactions.find((r) => r.line === line && r.ended === null);
  const [minutes, setMinutes] = useState("");
  if (!reaction) return null;
  const most = Math.max(0, Math.floor((Date.now() - reaction.at) / 60_000));
  const rule: NumberRule = { unit: "min", least: 0, most, decimals: 0 };
  const read = minutes.trim() === "" ? { value: null, fault: null } : readNumber(minutes, rule);
  const end = (outcome: "case_goes_on" | "case_stopped") =>
    record("reaction.ended", { outcome, late: true, after_min: read.value }, { case: state.id });
  const blocked = read.fault !== null || saving.value > 0;
  return (
    <div class="stack">
      <Button kind="danger" wide icon="emergency" onClick={() => openOver("emergency")}>
        It still runs: go back to it
      </Button>
      <p>
        If it is over: whether it was, and whether imaging went on, was for the clinician in charge to say.
      </p>
      <TextField
        label="Over how many minutes after it was opened? (empty where nobody knows)"
        inputMode="numeric"
        value={minutes}
        onText={setMinutes}
        maxLength={6}
        error={read.fault ?? undefined}
      />
      {state.opened ? (
        <>
          <Button wide disabled={blocked} onClick={() => void end("case_goes_on")}>
            It was over: the case went on
          </Button>
          <Button wide kind="warn" disabled={blocked} onClick={() => void end("case_stopped")}>
            It was over: no more was imaged
          </Button>
        </>
      ) : (
        <Button wide kind="warn" disabled={blocked} onClick={() => void end("case_stopped")}>
          It was over
        </Button>
      )}
    </div>
  );
}
