import { useEffect, useState } from "preact/hooks";
import type { InvitationPerson } from "../../types.gen";
import { Button, Mark, Notice } from "../../ui";
import { type Answer, signOut } from "../api";
import { Refusal, Waiting } from "../parts/states";
import { ROLE_HELP, ROLE_WORDS } from "../roles";
import { hrefOf } from "../route";
import { moment } from "../when";
import { sentence } from "../words";
import { NewPassword } from "./NewPassword";
import { newPasswordReady } from "./passwords";
import { usePost } from "./usePost";

/** Where the link of an invitation leads: nobody is signed in here. */
export function InvitationPage({ token }: { token: string }) {
  const [found, setFound] = useState<InvitationPerson | null>(null);
  const [joined, setJoined] = useState(false);
  const looking = usePost<InvitationPerson>(setFound);
  const look = () => void looking.send("/api/invitations/look", { token });
  useEffect(look, [token]);
  return (
    <main class="desk-sign-in">
      <div class="card stack">
        <p class="desk-name">
          <Mark />
          <span>Chinrest desk</span>
        </p>
        <h1>Your invitation</h1>
        {!found && <NotFound answer={looking.answer} again={look} />}
        {found && !joined && <Join token={token} found={found} onJoined={() => setJoined(true)} />}
        {joined && <Joined />}
      </div>
    </main>
  );
}

/** A link that opens nothing any more is no fault of whoever holds it: it says what became of it. */
function NotFound({ answer, again }: { answer: Answer<InvitationPerson> | null; again: () => void }) {
  if (answer?.state !== "refused" || !answer.fault.code.startsWith("invitation_"))
    return <Waiting answer={answer} what="your invitation" again={again} />;
  return (
    <>
      <Notice kind="warn" title="This link opens nothing" loud>
        <p>{sentence(answer.fault.why)}.</p>
      </Notice>
      <p>
        <a href={hrefOf("account")}>Go to the sign-in</a>
      </p>
    </>
  );
}

function Join({ token, found, onJoined }: { token: string; found: InvitationPerson; onJoined: () => void }) {
  const [first, setFirst] = useState("");
  const [second, setSecond] = useState("");
  const { answer, busy, send } = usePost<InvitationPerson>(onJoined);
  const take = (event: Event) => {
    event.preventDefault();
    void send("/api/invitations/take", { token, password: first });
  };
  return (
    <form class="stack" onSubmit={take} aria-label="Set your password">
      <p>
        For <strong>{found.name}</strong>, {ROLE_WORDS[found.role]}.{" "}
        <span class="quiet">{ROLE_HELP[found.role]}</span>
      </p>
      <p class="quiet">
        If this is not you, close the page. The link is good once, until{" "}
        <span class="number">{moment(found.expires_at)}</span>.
      </p>
      <NewPassword first={first} second={second} onFirst={setFirst} onSecond={setSecond} />
      <Refusal answer={answer} />
      <Button kind="main" type="submit" wide disabled={busy || !newPasswordReady(first, second)}>
        Set this password
      </Button>
    </form>
  );
}

function Joined() {
  const [left, setLeft] = useState<Answer<null> | null>(null);
  /** Whoever else may be signed in in this browser. */
  const go = async () => {
    const answer = await signOut();
    setLeft(answer);
    if (answer.state === "ready") location.replace(hrefOf("account"));
  };
  return (
    <>
      <p role="status">Your password is set. The link is used up.</p>
      <Refusal answer={left} />
      <Button kind="main" wide onClick={() => void go()}>
        Go to the sign-in
      </Button>
    </>
  );
}
