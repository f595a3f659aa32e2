import { useEffect, useRef, useState } from "preact/hooks";
import type { Person } from "../../types.gen";
import { Button, Mark, Notice, TextField } from "../../ui";
import { type Answer, ended, signIn } from "../api";
import { Refusal } from "../parts/states";
import { sentence } from "../words";

export function SignIn() {
  const [name, setName] = useState("");
  const [password, setPassword] = useState("");
  const [answer, setAnswer] = useState<Answer<Person> | null>(null);
  const [code, setCode] = useState("");
  const [coded, setCoded] = useState(false);
  const [busy, setBusy] = useState(false);
  const form = useRef<HTMLFormElement>(null);
  useEffect(() => {
    if (coded) form.current?.querySelector<HTMLInputElement>("input[autocomplete=one-time-code]")?.focus();
  }, [coded]);

  async function send(event: Event) {
    event.preventDefault();
    setBusy(true);
    const got = await signIn(name.trim(), password, coded ? code : "");
    setBusy(false);
    const wanted = got.state === "refused" && got.fault.code === "code_wanted";
    if (wanted) setCoded(true);
    setAnswer(wanted ? null : got); // that a code is wanted is no refusal: its field says so
  }

  return (
    <main class="desk-sign-in">
      <form ref={form} class="card stack" onSubmit={send} aria-labelledby="desk-sign-in">
        <p class="desk-name">
          <Mark />
          <span>Chinrest desk</span>
        </p>
        <h1 id="desk-sign-in">Sign in</h1>
        <p class="quiet">For those who have an account here. Reading a case is itself logged.</p>
        {ended.value && !answer && (
          <Notice kind="warn" title="You were signed out" loud>
            <p>{sentence(ended.value.why)}.</p>
          </Notice>
        )}
        <TextField label="Name" value={name} onText={setName} autocomplete="username" autocapitalize="off" />
        <TextField
          label="Password"
          type="password"
          value={password}
          onText={setPassword}
          autocomplete="current-password"
        />
        {coded && (
          <TextField
            label="Code"
            hint="The six digits that your authenticator shows now, or a recovery code."
            value={code}
            onText={setCode}
            maxLength={20}
            autocomplete="one-time-code"
          />
        )}
        <Refusal answer={answer} />
        <Button kind="main" type="submit" wide disabled={busy}>
          {busy ? "Signing in …" : "Sign in"}
        </Button>
        <p class="quiet t-small">Forgotten your password? An admin can make you a new link.</p>
      </form>
    </main>
  );
}
