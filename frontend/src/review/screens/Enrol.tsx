import { useEffect, useState } from "preact/hooks";
import type { EnrolmentCode, SiteRow } from "../../types.gen";
import { Button, Notice, TextField } from "../../ui";
import { type Answer, post } from "../api";
import { useAsked } from "../asked";
import { QrCode } from "../parts/QrCode";
import { Select } from "../parts/Select";
import { Empty, Refusal, Waiting } from "../parts/states";
import { clock } from "../when";

export function EnrolScreen() {
  const asked = useAsked<SiteRow[]>("/api/sites");
  const sites = asked.value;
  const [site, setSite] = useState("");
  const [label, setLabel] = useState("");
  const [answer, setAnswer] = useState<Answer<EnrolmentCode> | null>(null);
  const [busy, setBusy] = useState(false);
  const chosen = site || sites?.[0]?.id || "";

  async function make(event: Event) {
    event.preventDefault();
    setBusy(true);
    setAnswer(await post<EnrolmentCode>("/api/enrolment-codes", { site: chosen, label: label.trim() }));
    setBusy(false);
  }

  return (
    <div class="stack">
      <h1>Enrol a device</h1>
      <p class="quiet">
        A code belongs to one site, serves once, and is good for 15 minutes. Give it only to the person who
        holds the phone.
      </p>
      <Waiting answer={asked.answer} what="the sites" again={asked.again} />
      {sites?.length === 0 && (
        <Empty title="There is no site yet">Add one with “chinrest sites add ID NAME”, then come back.</Empty>
      )}
      <form class="card stack desk-narrow" onSubmit={make}>
        <Select
          label="Site"
          value={chosen}
          options={(sites ?? []).map((s) => ({ id: s.id, text: s.name }))}
          onPick={setSite}
        />
        <TextField
          label="Label of the device"
          hint="How the desk will call it, for example the number on its back. Never a person's name."
          value={label}
          onText={setLabel}
          maxLength={80}
        />
        <Refusal answer={answer} />
        <Button kind="main" type="submit" disabled={busy || !chosen || !label.trim()}>
          Make a code
        </Button>
      </form>
      {answer?.state === "ready" && <Made key={answer.value.code} made={answer.value} />}
    </div>
  );
}

function Made({ made }: { made: EnrolmentCode }) {
  const [past, setPast] = useState(false);
  useEffect(() => {
    const timer = setTimeout(() => setPast(true), Math.max(0, made.expires_at - Date.now()));
    return () => clearTimeout(timer);
  }, [made.expires_at]);
  if (past) {
    return (
      <Notice kind="warn" title="This code has run out" loud>
        <p>Make a new one.</p>
      </Notice>
    );
  }
  return (
    <section class="card desk-code" aria-label="Enrolment code">
      <QrCode text={made.url} label="QR code of the address with the enrolment code" />
      <div class="stack">
        <p>
          Scan this with the phone's camera, or open the address and type the code. Good until{" "}
          <strong class="number">{clock(made.expires_at)}</strong>, once.
        </p>
        <p class="desk-code-text number">{made.code}</p>
        <p class="desk-address">
          <a href={made.url}>{made.url}</a>
        </p>
      </div>
    </section>
  );
}
