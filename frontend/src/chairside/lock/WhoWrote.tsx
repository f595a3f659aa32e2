import { useState } from "preact/hooks";
import { Button, Notice, PickMany } from "../../ui";
import { actor, app } from "../app";
import { PageFrame } from "../frame/CaseFrame";
import { saveTrouble } from "../record";
import { TYPE_WORD } from "../tell/types";
import { clock, count } from "../words";
import { goOn, unnamed } from "./begin";

/** Asked once after an unlock, and never answered by itself: who wrote what names nobody. */
export function WhoWrote() {
  const lines = unnamed.value;
  const [mine, setMine] = useState<string[]>([]);
  const [busy, setBusy] = useState(false);
  const options = lines.map(({ id, type, case: of, at }) => {
    const code = app.log.caseOf(of)?.code;
    return { id, text: `${clock(at)} ${TYPE_WORD[type] ?? type}`, help: code ? `Case ${code}` : "No case" };
  });
  const say = async (ids: string[]) => {
    setBusy(true);
    try {
      await (await app.log.lock()).confirm(ids);
      goOn();
    } catch (error) {
      saveTrouble.value = error instanceof Error ? error.message : String(error);
    } finally {
      setBusy(false);
    }
  };
  return (
    <PageFrame home title="Who wrote this?">
      <Notice title={`${count(lines.length, "line names", "lines name")} nobody`}>
        <p>Written while the phone was locked. Say for which of them that it was you, {actor.value}.</p>
      </Notice>
      <PickMany legend="I wrote" options={options} values={mine} onPick={setMine} />
      <div class="stack">
        {lines.length > 1 && (
          <Button kind="quiet" disabled={busy} onClick={() => setMine(lines.map(({ id }) => id))}>
            Pick all
          </Button>
        )}
        <Button kind="main" big wide disabled={busy || mine.length === 0} onClick={() => void say(mine)}>
          {mine.length === 0 ? "Pick yours" : `It was me: ${count(mine.length, "line", "lines")}`}
        </Button>
        <Button wide disabled={busy} onClick={goOn}>
          Not me, or not now
        </Button>
      </div>
      <p class="t-small quiet">
        What nobody claims stays in the log as it is, and is asked again at the next unlock.
      </p>
    </PageFrame>
  );
}
