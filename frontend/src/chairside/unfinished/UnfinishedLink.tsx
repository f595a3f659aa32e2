import type { CaseState } from "../../log";
import { Button } from "../../ui";
import { app } from "../app";
import { drugActions } from "../reaction/tables";
import { openOver } from "../router";
import { count } from "../words";
import { unfinishedOf } from "./list";

/** On every screen of the case while something is to finish; small, since it can wait. */
export function UnfinishedLink({ state }: { state: CaseState }) {
  const left = unfinishedOf(state, drugActions(app.shelf.current.value?.pack ?? null)).length;
  if (left === 0) return null;
  return (
    <Button kind="quiet" icon="warn" onClick={() => openOver("unfinished")}>
      {count(left, "thing", "things")} to finish
    </Button>
  );
}
