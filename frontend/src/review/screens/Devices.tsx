import { useState } from "preact/hooks";
import type { DeviceRow, Person, RefusedRow } from "../../types.gen";
import { Button, Fold, Icon, Notice, Sheet, Tag, TextField } from "../../ui";
import { type Answer, post } from "../api";
import { useAsked } from "../asked";
import { BranchRow } from "../devices/Branch";
import { Hubs } from "../devices/Hubs";
import { useChanges } from "../live";
import { packVersion } from "../names";
import { type PackNames, usePackForNames } from "../newest";
import { Cell } from "../parts/Cell";
import { Empty, Refusal, Waiting } from "../parts/states";
import { TakeFile } from "../parts/TakeFile";
import { reads } from "../roles";
import { hrefOf } from "../route";
import { ago, moment, offsetWords } from "../when";

export function DevicesScreen({ person }: { person: Person }) {
  const { role } = person;
  const lead = role === "lead";
  const following = { changes: useChanges("devices") };
  const { answer, value, again } = useAsked<DeviceRow[]>("/api/devices", 0, following);
  const refused = useAsked<RefusedRow[]>(reads(role) ? "/api/refused-lines" : null, 0, following);
  const names = usePackForNames();
  const [leaving, setLeaving] = useState<DeviceRow | null>(null);
  return (
    <div class="stack">
      <div class="row-ends">
        <h1>Devices</h1>
        <Button onClick={again}>Ask again</Button>
      </div>
      <p class="quiet">
        A device that has not been heard may hold lines that nobody here has seen. Its lines are safe on it
        until the server has answered for each.
      </p>
      <Waiting
        answer={answer ?? (value ? { state: "ready", value } : null)}
        what="the devices"
        again={again}
      />
      {value && value.length === 0 && (
        <Empty title="No device is enrolled">
          {lead ? <a href={hrefOf("enrol")}>Make a code</a> : "The clinic's lead can make a code"} to enrol a
          phone.
        </Empty>
      )}
      {value && value.length > 0 && (
        <table class="desk-table">
          <caption class="only-heard">Devices, with their gaps</caption>
          <thead>
            <tr>
              <th scope="col">Device</th>
              <th scope="col">Site</th>
              <th scope="col">Last heard</th>
              <th scope="col">Waiting on it then</th>
              <th scope="col">Refused</th>
              <th scope="col">Clock</th>
              <th scope="col">App</th>
              <th scope="col">Pack</th>
              {lead && <th scope="col">Withdraw</th>}
            </tr>
          </thead>
          {value.map((device) => (
            <Device
              key={device.id}
              device={device}
              refused={(refused.value ?? []).filter((line) => line.device === device.id)}
              names={names}
              lead={lead}
              onWithdraw={setLeaving}
            />
          ))}
        </table>
      )}
      {person.site === null ? (
        <Hubs names={names} />
      ) : (
        <p class="quiet">
          These are the devices of {person.site_name}. Other sites' devices, and hubs, are seen by whoever's
          account has no site.
        </p>
      )}
      <TakeFile onTaken={again} />
      {leaving && (
        <Withdraw
          device={leaving}
          onClose={(done) => {
            setLeaving(null);
            if (done) again();
          }}
        />
      )}
    </div>
  );
}

function Device({
  device,
  refused,
  names,
  lead,
  onWithdraw,
}: {
  device: DeviceRow;
  refused: RefusedRow[];
  names: PackNames;
  lead: boolean;
  onWithdraw: (device: DeviceRow) => void;
}) {
  const columns = lead ? 9 : 8;
  const aside = refused.filter((line) => line.code === "fork");
  const bad = refused.filter((line) => line.code !== "fork");
  const skewed = device.clock_offset_ms !== null && Math.abs(device.clock_offset_ms) >= names.clockWarn_ms;
  return (
    <tbody>
      <tr>
        <Cell label="Device" head="row">
          {device.label}
          <span class="desk-note">enrolled {moment(device.enrolled_at)}</span>
          {device.withdrawn && (
            <span class="desk-tags">
              <Tag icon="cross">withdrawn</Tag>
            </span>
          )}
        </Cell>
        <Cell label="Site">{names.site(device.site)}</Cell>
        <Cell label="Last heard">
          {device.last_heard_at === null ? (
            "never"
          ) : (
            <>
              {ago(device.last_heard_at, Date.now())}
              <span class="desk-note">{moment(device.last_heard_at)}</span>
            </>
          )}
        </Cell>
        <Cell label="Waiting on it then">
          {device.waiting === null ? "not known" : String(device.waiting)}
        </Cell>
        <Cell label="Refused">
          {device.refused > 0 ? (
            <span class="desk-harm">
              <Icon name="warn" />
              {device.refused}
            </span>
          ) : (
            "0"
          )}
        </Cell>
        <Cell label="Clock">
          <span class={skewed ? "desk-harm" : ""}>
            {skewed && <Icon name="warn" />}
            {offsetWords(device.clock_offset_ms)}
          </span>
        </Cell>
        <Cell label="App">{device.app ?? "not known"}</Cell>
        <Cell label="Pack">{packVersion(device.pack)}</Cell>
        {lead && (
          <Cell label="Withdraw">
            {device.withdrawn ? (
              "done"
            ) : (
              <Button onClick={() => onWithdraw(device)} aria-label={`Withdraw ${device.label}`}>
                Withdraw
              </Button>
            )}
          </Cell>
        )}
      </tr>
      {device.gaps.map(([from, to]) => (
        <tr key={from} class="desk-gap">
          <td colSpan={columns}>
            <Icon name="danger" />
            <strong>
              {from === to
                ? `Line ${from} of ${device.label} is missing.`
                : `Lines ${from} to ${to} of ${device.label} are missing.`}
            </strong>{" "}
            Later ones are here. They may still come; if the phone was wiped, they will not.
          </td>
        </tr>
      ))}
      <BranchRow device={device} aside={aside} columns={columns} />
      {bad.length > 0 && (
        <tr>
          <td colSpan={columns}>
            <Fold word={`${bad.length} of its lines refused or set aside`}>
              <ul class="list">
                {bad.map((line) => (
                  <li key={`${line.seq} ${line.received_at} ${line.id}`}>
                    <strong>
                      Line {line.seq ?? "without a number"}
                      {line.type ? ` (${line.type})` : ""}
                    </strong>
                    , received {moment(line.received_at)}: {line.reason}
                  </li>
                ))}
              </ul>
            </Fold>
          </td>
        </tr>
      )}
    </tbody>
  );
}

function Withdraw({ device, onClose }: { device: DeviceRow; onClose: (done: boolean) => void }) {
  const [why, setWhy] = useState("");
  const [answer, setAnswer] = useState<Answer<unknown> | null>(null);
  const [busy, setBusy] = useState(false);
  async function send(event: Event) {
    event.preventDefault();
    setBusy(true);
    const got = await post(`/api/devices/${encodeURIComponent(device.id)}/withdraw`, { why: why.trim() });
    setBusy(false);
    setAnswer(got);
    if (got.state === "ready") onClose(true);
  }
  return (
    <Sheet title={`Withdraw ${device.label}`} small onClose={() => onClose(false)}>
      <form class="stack" onSubmit={send}>
        <Notice kind="warn">
          <p>
            The server will refuse this device from now on. What it holds and has not sent stays on it, and
            can be exported there. Only a new code lets it in again.
          </p>
        </Notice>
        <TextField label="Why" value={why} onText={setWhy} maxLength={500} />
        <Refusal answer={answer} />
        <Button kind="danger" type="submit" disabled={busy || !why.trim()}>
          Withdraw this device
        </Button>
      </form>
    </Sheet>
  );
}
