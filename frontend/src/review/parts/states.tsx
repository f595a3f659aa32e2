/** The states in which there is nothing to show yet: loading, offline, refused, empty. */

import type { ComponentChildren } from "preact";
import { Button, Loading, Notice } from "../../ui";
import type { Answer } from "../api";

/** Stands where the answer will stand. Shows nothing once the answer is ready. */
export function Waiting({
  answer,
  what,
  again,
}: {
  answer: Answer<unknown> | null;
  what: string;
  again?: () => void;
}) {
  if (answer === null) return <Loading>Asking the server for {what} …</Loading>;
  if (answer.state === "ready") return null;
  if (answer.state === "offline") {
    return (
      <Notice kind="warn" title="The server does not answer" loud>
        <p>
          The desk reads from the server and keeps nothing itself, so {what} cannot be shown now. Phones go on
          recording meanwhile, and nothing of theirs is lost.
        </p>
        <Again again={again} />
      </Notice>
    );
  }
  return (
    <Notice kind="danger" title="The server refused this" loud>
      <p>
        {answer.fault.where && <strong>{answer.fault.where}: </strong>}
        {answer.fault.why}
      </p>
      <p class="t-small quiet">code: {answer.fault.code}</p>
      <Again again={again} />
    </Notice>
  );
}

function Again({ again }: { again: (() => void) | undefined }) {
  if (!again) return null;
  return (
    <p>
      <Button onClick={again}>Try again</Button>
    </p>
  );
}

export function Empty({ title, children }: { title: string; children: ComponentChildren }) {
  return (
    <div class="desk-empty">
      <h2>{title}</h2>
      <p class="quiet">{children}</p>
    </div>
  );
}

/** What became of something that was asked for: a refusal in words, or nothing. */
export function Refusal({ answer }: { answer: Answer<unknown> | null }) {
  if (answer === null || answer.state === "ready") return null;
  return <Waiting answer={answer} what="this" />;
}
