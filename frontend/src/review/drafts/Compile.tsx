import { useState } from "preact/hooks";
import type { CompileJob, Draft } from "../../types.gen";
import { Button, Notice } from "../../ui";
import { type Answer, post } from "../api";
import { Refusal } from "../parts/states";
import { hrefOf } from "../route";

/** Compiling goes on at the server, whatever becomes of this page. */
export function Compile({ draft, again }: { draft: Draft; again: () => void }) {
  const [answer, setAnswer] = useState<Answer<CompileJob> | null>(null);
  const [busy, setBusy] = useState(false);
  const { job } = draft;
  const made = draft.saves[0]?.pack ?? null;
  async function begin() {
    setBusy(true);
    const got = await post<CompileJob>(`/api/drafts/${draft.draft}/compile`, { seen: draft.number });
    setBusy(false);
    setAnswer(got);
    again();
  }
  return (
    <section class="desk-part" aria-label="Compiling">
      <h2>Compiling</h2>
      {job?.state === "running" && (
        <p role="status">
          Save {job.number} is being compiled
          {job.doing ? `: plan ${job.pieces} of at most ${job.most}, ${job.doing}` : ""}. Plans that are known
          are not worked out again. You may leave this page.
        </p>
      )}
      {job?.state === "failed" && (
        <Notice kind="danger" title={`Save ${job.number} was not compiled`}>
          <p>{job.why}</p>
        </Notice>
      )}
      {made && (
        <Notice kind="done" title="This save is compiled and proved">
          <p>
            It waits for approval among the <a href={hrefOf("packs")}>packs</a>. Read{" "}
            <a href={hrefOf("difference", null, new URLSearchParams({ older: draft.base, newer: made }))}>
              what it changes
            </a>{" "}
            and <a href={hrefOf("fits", made)}>what it computes to</a> first.
          </p>
        </Notice>
      )}
      <Refusal answer={answer} />
      {!made && job?.state !== "running" && (
        <p>
          <Button disabled={busy || draft.faults.length > 0} onClick={begin}>
            Compile save {draft.number}
          </Button>{" "}
          {draft.faults.length > 0 && "A draft with a fault is not compiled."}
        </p>
      )}
    </section>
  );
}
