import { useState } from "preact/hooks";
import type { OwnAccount, Person } from "../../types.gen";
import { Button, TextField } from "../../ui";
import { useAsked } from "../asked";
import { Refusal, Waiting } from "../parts/states";
import { ROLE_HELP, ROLE_WORDS } from "../roles";
import { NewPassword } from "./NewPassword";
import { newPasswordReady } from "./passwords";
import { SecondFactorOff, SecondFactorOn } from "./SecondFactor";
import { usePost } from "./usePost";

/** One's own account: the password, and the second factor. */
export function AccountPage({ person }: { person: Person }) {
  const { answer, value, again } = useAsked<OwnAccount>("/api/account");
  return (
    <div class="stack">
      <h1>Your account</h1>
      <p>
        {person.name}, {ROLE_WORDS[person.role]}. <span class="quiet">{ROLE_HELP[person.role]}</span>
      </p>
      {person.site_name !== null && <p>You see and change what belongs to {person.site_name} alone.</p>}
      <ChangePassword />
      <Waiting
        answer={answer ?? (value ? { state: "ready", value } : null)}
        what="your second factor"
        again={again}
      />
      {value &&
        (value.second_factor ? (
          <SecondFactorOff own={value} onOff={again} />
        ) : (
          <SecondFactorOn onDone={again} />
        ))}
    </div>
  );
}

function ChangePassword() {
  const [old, setOld] = useState("");
  const [first, setFirst] = useState("");
  const [second, setSecond] = useState("");
  const [changed, setChanged] = useState(false);
  const { answer, busy, send } = usePost<null>(() => {
    setOld("");
    setFirst("");
    setSecond("");
    setChanged(true);
  });
  const change = (event: Event) => {
    event.preventDefault();
    setChanged(false);
    void send("/api/account/password", { old, new: first });
  };
  return (
    <form class="card stack desk-narrow" onSubmit={change} aria-labelledby="desk-password">
      <h2 id="desk-password">Change the password</h2>
      <p class="quiet">Wherever else you are signed in, you will be signed out.</p>
      <TextField
        label="Current password"
        type="password"
        value={old}
        onText={setOld}
        autocomplete="current-password"
      />
      <NewPassword first={first} second={second} onFirst={setFirst} onSecond={setSecond} />
      <Refusal answer={answer} />
      {changed && <p role="status">Your password is changed.</p>}
      <Button kind="main" type="submit" disabled={busy || !old || !newPasswordReady(first, second)}>
        Change it
      </Button>
    </form>
  );
}
