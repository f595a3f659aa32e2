import type { HubRow } from "../../types.gen";
import { Icon, Tag } from "../../ui";
import { useAsked } from "../asked";
import { useChanges } from "../live";
import { packVersion } from "../names";
import type { PackNames } from "../newest";
import { Cell } from "../parts/Cell";
import { Waiting } from "../parts/states";
import { ago, moment, offsetWords } from "../when";

/** Servers that carry phones' lines to this one. Not shown where there is none. */
export function Hubs({ names }: { names: PackNames }) {
  const { answer, value, again } = useAsked<HubRow[]>("/api/hubs", 0, {
    changes: useChanges("devices"),
  });
  if (value?.length === 0) return null;
  return (
    <section class="desk-part" aria-label="Hubs">
      <h2>Hubs</h2>
      <p class="quiet">
        A hub is a site's own server that carries the lines of its phones to this one. Each is known by its
        key: compare the fingerprint by voice. What a hub says of itself is as of its last round.
      </p>
      <Waiting answer={answer ?? (value ? { state: "ready", value } : null)} what="the hubs" again={again} />
      {value && (
        <table class="desk-table">
          <caption class="only-heard">Hubs</caption>
          <thead>
            <tr>
              <th scope="col">Hub</th>
              <th scope="col">Last heard</th>
              <th scope="col">Waiting on it then</th>
              <th scope="col">Clock</th>
              <th scope="col">App</th>
              <th scope="col">Pack</th>
              <th scope="col">Fingerprint of its key</th>
            </tr>
          </thead>
          <tbody>
            {value.map((hub) => (
              <Hub key={hub.id} hub={hub} names={names} />
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}

function Hub({ hub, names }: { hub: HubRow; names: PackNames }) {
  const { said } = hub;
  const skewed = said !== null && Math.abs(said.clock_offset_ms) >= names.clockWarn_ms;
  return (
    <tr>
      <Cell label="Hub" head="row">
        {hub.name}
        <span class="desk-note">approved {moment(hub.approved_at)}</span>
        {hub.withdrawn && (
          <span class="desk-tags">
            <Tag icon="cross">withdrawn</Tag>
          </span>
        )}
      </Cell>
      <Cell label="Last heard">
        {hub.last_heard_at === null ? (
          "never"
        ) : (
          <>
            {ago(hub.last_heard_at, Date.now())}
            <span class="desk-note">{moment(hub.last_heard_at)}</span>
          </>
        )}
      </Cell>
      <Cell label="Waiting on it then">
        {said === null ? (
          "it has not said"
        ) : (
          <>
            {said.waiting}
            <span class="desk-note">said {moment(said.at)}</span>
          </>
        )}
      </Cell>
      <Cell label="Clock">
        <span class={skewed ? "desk-harm" : ""}>
          {skewed && <Icon name="warn" />}
          {offsetWords(said?.clock_offset_ms ?? null)}
        </span>
      </Cell>
      <Cell label="App">{said?.app ?? "not known"}</Cell>
      <Cell label="Pack">
        {said === null ? "not known" : said.packs.map(packVersion).join(", ") || "no pack"}
      </Cell>
      <Cell label="Fingerprint of its key">
        <span class="desk-print">{hub.fingerprint}</span>
      </Cell>
    </tr>
  );
}
