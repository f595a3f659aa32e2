import type { PhoneWithPack, Rollout, SiteRollout } from "../../types.gen";
import { Button, Icon, Tag } from "../../ui";
import { useAsked } from "../asked";
import { useChanges } from "../live";
import { Cell } from "../parts/Cell";
import { Waiting } from "../parts/states";
import { ago, moment } from "../when";
import { Tabs } from "./Tabs";

export function RolloutPage() {
  const { answer, value, again } = useAsked<Rollout>("/api/rollout", 0, {
    changes: useChanges("devices", "packs"),
  });
  return (
    <div class="stack">
      <div class="row-ends">
        <h1>Who has which pack</h1>
        <Button onClick={again}>Ask again</Button>
      </div>
      <Tabs page="rollout" />
      <p class="quiet packs-how">
        A phone takes the pack in force at its next contact, proves it, and changes over between cases. What a
        phone has is what it last said it took; one that was not heard since may have another.
      </p>
      <Waiting
        answer={answer ?? (value ? { state: "ready", value } : null)}
        what="who has which"
        again={again}
      />
      {value?.sites.map((site) => (
        <Site key={site.site} site={site} now={value.at} />
      ))}
    </div>
  );
}

function Site({ site, now }: { site: SiteRollout; now: number }) {
  const current = site.phones.filter((phone) => phone.stands === "current").length;
  return (
    <section class="desk-part" aria-label={site.name}>
      <h2>{site.name}</h2>
      <p>
        {site.pack ? (
          <>
            In force: <strong>version {site.version ?? "unknown"}</strong> ({site.pack.slice(0, 8)})
            {site.since !== null && `, since ${moment(site.since)}`}
            {site.approved_by && `, approved by ${site.approved_by}`}.{" "}
            {site.phones.length > 0 &&
              `${current} of ${site.phones.length} ${site.phones.length === 1 ? "phone has" : "phones have"} it.`}
          </>
        ) : (
          <span class="desk-harm-heavy">
            <Icon name="danger" />
            {site.recalled
              ? "Nothing is in force: the last pack was recalled. Approve another."
              : "Nothing is in force: no pack was ever approved for this site."}
          </span>
        )}
      </p>
      {site.phones.length === 0 ? (
        <p class="quiet">No phone of this site is enrolled.</p>
      ) : (
        <table class="desk-table packs-rollout">
          <caption class="only-heard">Phones of {site.name} and their packs</caption>
          <thead>
            <tr>
              <th scope="col">Phone</th>
              <th scope="col">Has</th>
              <th scope="col">Stands</th>
              <th scope="col">Behind since</th>
              <th scope="col">Last heard</th>
            </tr>
          </thead>
          <tbody>
            {site.phones.map((phone) => (
              <Phone key={phone.device} phone={phone} now={now} />
            ))}
          </tbody>
        </table>
      )}
      {site.withdrawn > 0 && (
        <p class="quiet t-small">
          {site.withdrawn === 1 ? "1 withdrawn phone is" : `${site.withdrawn} withdrawn phones are`} not
          listed.
        </p>
      )}
    </section>
  );
}

function Phone({ phone, now }: { phone: PhoneWithPack; now: number }) {
  return (
    <tr class={phone.stands === "recalled" ? "packs-recalled" : ""}>
      <Cell label="Phone" head="row">
        {phone.label}
      </Cell>
      <Cell label="Has">
        {phone.pack ? (
          <>
            version {phone.version ?? "unknown here"}
            <span class="desk-note">{phone.pack.slice(0, 8)}</span>
          </>
        ) : (
          "no pack"
        )}
      </Cell>
      <Cell label="Stands">
        <Stands phone={phone} />
      </Cell>
      <Cell label="Behind since">
        {phone.behind_since === null ? (
          phone.stands === "current" ? (
            "not behind"
          ) : (
            "nothing is in force"
          )
        ) : (
          <>
            {ago(phone.behind_since, now).replace(/ ago$/, "")}
            <span class="desk-note">since {moment(phone.behind_since)}</span>
          </>
        )}
      </Cell>
      <Cell label="Last heard">
        {phone.last_heard_at === null ? (
          "never"
        ) : (
          <>
            {ago(phone.last_heard_at, now)}
            <span class="desk-note">{moment(phone.last_heard_at)}</span>
          </>
        )}
      </Cell>
    </tr>
  );
}

function Stands({ phone }: { phone: PhoneWithPack }) {
  switch (phone.stands) {
    case "current":
      return <Tag icon="tick">has the pack in force</Tag>;
    case "behind":
      return <Tag icon="clock">an earlier one</Tag>;
    case "never_here":
      return <Tag icon="warn">one never in force here</Tag>;
    case "no_pack":
      return <Tag icon="warn">none yet</Tag>;
    case "none_in_force":
      return <Tag icon="warn">nothing is in force here</Tag>;
    case "recalled":
      return (
        <span class="desk-harm-heavy">
          <Icon name="danger" />
          <span>RECALLED: {phone.why}</span>
        </span>
      );
  }
}
