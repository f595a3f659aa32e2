import type { DeviceAwaited } from "../../types.gen";
import { hrefOf } from "../route";
import { moment } from "../when";
import { count } from "./figures";

/** How this is known: what is counted and left out, by which log, and who may still hold lines. */
export function Known({
  rules,
  position,
  asOf,
  provisional,
  site,
}: {
  rules: string[];
  position: number;
  /** When it was asked for. */
  asOf: number;
  provisional?: DeviceAwaited[];
  site: (id: string) => string;
}) {
  return (
    <section class="desk-part rates-known" aria-label="How this is known">
      <h2>How this is known</h2>
      <ul class="rates-rules">
        {rules.map((rule) => (
          <li key={rule}>{rule}</li>
        ))}
        <li>
          Counted at log position <span class="number">{count(position)}</span>, as of {moment(asOf)}.
        </li>
      </ul>
      {provisional && provisional.length > 0 && (
        <>
          <h3>Provisional: these devices may still hold lines of the period</h3>
          <ul class="rates-rules">
            {provisional.map((device) => (
              <li key={`${device.label} ${device.site}`}>
                {device.label}, {site(device.site)}:{" "}
                {device.last_heard_at === null ? "never heard" : `last heard ${moment(device.last_heard_at)}`}
                {device.waiting ? `, ${count(device.waiting)} lines waiting` : ""}
              </li>
            ))}
          </ul>
          <p class="rates-out">
            <a href={hrefOf("devices")}>Devices</a>
          </p>
        </>
      )}
      {provisional && provisional.length === 0 && (
        <p>Every device in use has been heard since the period ended.</p>
      )}
    </section>
  );
}
