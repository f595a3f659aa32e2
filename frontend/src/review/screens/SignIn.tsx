import { useState } from "preact/hooks";
import type { Person } from "../../types.gen";
import { Button, Mark, TextField } from "../../ui";
import { type Answer, signIn } from "../api";
import { Refusal } from "../parts/states";

export function SignIn() {
  const [name, setName] = useState("");
  const [password, setPassword] = useState("");
  const [answer, setAnswer] = useState<Answer<Person> | null>(null);
  const [busy, setBusy] = useState(false);

  async function send(event: Event) {
    event.preventDefault();
    setBusy(true);
    setAnswer(await signIn(name.trim(), password));
    setBusy(false);
  }

  return (
    <main class="desk-sign-in">
      <form class="card stack" onSubmit={send} aria-labelledby="desk-sign-in">
        <p class="desk-name">
          <Mark />
          <span>Chinrest desk</span>
        </p>
        <h1 id="desk-sign-in">Sign in</h1>
        <p class="quiet">For the safety officer and the clinic's lead. Reading a case is itself logged.</p>
        <TextField label="Name" value={name} onText={setName} autocomplete="username" autocapitalize="off" />
        <TextField
          label="Password"
          type="password"
          value={password}
          onText={setPassword}
          autocomplete="current-password"
        />
        <Refusal answer={answer} />
        <Button kind="main" type="submit" wide disabled={busy}>
          {busy ? "Signing in …" : "Sign in"}
        </Button>
      </form>
    </main>
  );
}
