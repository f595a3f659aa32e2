import { useState } from "preact/hooks";
import type { OwnAccount, RecoveryCodes, SecondFactorSecret } from "../../types.gen";
import { Button, Notice, TextField } from "../../ui";
import { QrCode } from "../parts/QrCode";
import { Refusal } from "../parts/states";
import { usePost } from "./usePost";

/** From the password to the recovery codes. Nothing is asked for at a sign-in before the authenticator has shown a code. */
export function SecondFactorOn({ onDone }: { onDone: () => void }) {
  const [secret, setSecret] = useState<SecondFactorSecret | null>(null);
  const [codes, setCodes] = useState<string[] | null>(null);
  return (
    <section class="card stack desk-narrow" aria-labelledby="desk-second">
      <h2 id="desk-second">Second factor</h2>
      {codes ? (
        <Recovery codes={codes} onKept={onDone} />
      ) : secret ? (
        <Confirm secret={secret} onDone={setCodes} />
      ) : (
        <Begin onBegun={setSecret} />
      )}
    </section>
  );
}

function Begin({ onBegun }: { onBegun: (secret: SecondFactorSecret) => void }) {
  const [password, setPassword] = useState("");
  const { answer, busy, send } = usePost<SecondFactorSecret>(onBegun);
  const begin = (event: Event) => {
    event.preventDefault();
    void send("/api/account/second-factor", { password });
  };
  return (
    <form class="stack desk-narrow" onSubmit={begin} aria-label="Set up a second factor">
      <p>
        It is off. With it, signing in also asks for a code of six digits that an authenticator on your own
        phone shows, so that a password alone opens nothing.
      </p>
      <TextField
        label="Your password"
        type="password"
        value={password}
        onText={setPassword}
        autocomplete="current-password"
      />
      <Refusal answer={answer} />
      <Button type="submit" disabled={busy || !password}>
        Set it up
      </Button>
    </form>
  );
}

function Confirm({ secret, onDone }: { secret: SecondFactorSecret; onDone: (codes: string[]) => void }) {
  const [code, setCode] = useState("");
  const { answer, busy, send } = usePost<RecoveryCodes>((got) => onDone(got.codes));
  const confirm = (event: Event) => {
    event.preventDefault();
    void send("/api/account/second-factor/confirm", { code });
  };
  return (
    <div class="desk-code">
      <QrCode text={secret.address} label="QR code for the authenticator" />
      <form class="stack" onSubmit={confirm} aria-label="Confirm the second factor">
        <p>
          Scan this with the authenticator, or type the key into it. Then give the code that it shows. This
          page shows the key only now; whoever has it can make your codes.
        </p>
        <p class="desk-address">
          Key: <code>{secret.secret.replace(/(.{4})(?=.)/g, "$1 ")}</code>
        </p>
        <TextField
          label="Code"
          value={code}
          onText={setCode}
          inputMode="numeric"
          maxLength={20}
          autocomplete="one-time-code"
        />
        <Refusal answer={answer} />
        <Button kind="main" type="submit" disabled={busy || !code.trim()}>
          Turn it on
        </Button>
      </form>
    </div>
  );
}

function Recovery({ codes, onKept }: { codes: string[]; onKept: () => void }) {
  return (
    <div class="stack desk-narrow">
      <Notice kind="warn" title="Write these recovery codes down now" loud>
        <p>
          The second factor is on. When the authenticator is lost, each of these opens once in place of its
          code. They are not shown again. Keep them where you keep no password.
        </p>
      </Notice>
      <ul class="desk-recovery" aria-label="Recovery codes">
        {codes.map((code) => (
          <li key={code}>
            <code>{code}</code>
          </li>
        ))}
      </ul>
      <Button kind="main" onClick={onKept}>
        I have them
      </Button>
    </div>
  );
}

export function SecondFactorOff({ own, onOff }: { own: OwnAccount; onOff: () => void }) {
  const [password, setPassword] = useState("");
  const [code, setCode] = useState("");
  const { answer, busy, send } = usePost<null>(onOff);
  const off = (event: Event) => {
    event.preventDefault();
    void send("/api/account/second-factor/off", { password, code });
  };
  return (
    <form class="card stack desk-narrow" onSubmit={off} aria-labelledby="desk-second">
      <h2 id="desk-second">Second factor</h2>
      <p>
        It is on. <span class="number">{own.recovery_left}</span>{" "}
        {own.recovery_left === 1 ? "recovery code is" : "recovery codes are"} left. For a new authenticator or
        new codes, turn it off and set it up again.
      </p>
      <TextField
        label="Your password"
        type="password"
        value={password}
        onText={setPassword}
        autocomplete="current-password"
      />
      <TextField
        label="Code"
        hint="Of the authenticator, or a recovery code."
        value={code}
        onText={setCode}
        maxLength={20}
        autocomplete="one-time-code"
      />
      <Refusal answer={answer} />
      <Button type="submit" disabled={busy || !password || !code.trim()}>
        Turn it off
      </Button>
    </form>
  );
}
