import type { Timeline } from "../../types.gen";
import { namesFrom, packOf, packVersion } from "../names";
import { isDeskLine, standingOf } from "../standing";
import { clockSeconds, offsetWords } from "../when";
import { type DyeClock, dyeClocks } from "./clocks";

/** What the case came to, before its lines: frames, what was left out, phones with their clocks, packs, dyes. */
export function Glance({ timeline }: { timeline: Timeline }) {
  const frames = standingOf(timeline, "frame.taken");
  const again = frames.filter(({ body }) => body.outcome !== "taken").length;
  const skipped = standingOf(timeline, "step.skipped").length;
  const clocks = dyeClocks(timeline);
  const phones = [...new Map(phoneLines(timeline).map((e) => [e.device, e])).values()];
  const packs = [...new Set(timeline.entries.map((e) => e.pack).filter((sha) => sha !== null))];
  const who = [
    ...new Set(
      phoneLines(timeline)
        .map((e) => e.actor)
        .filter((actor) => actor !== null),
    ),
  ];
  return (
    <dl class="facts desk-glance">
      <dt>Frames</dt>
      <dd>
        {frames.length - again} taken{again > 0 ? `, ${again} not as they should be` : ""}
      </dd>
      <dt>Steps not done</dt>
      <dd>{skipped === 0 ? "none" : `${skipped}, with reasons below`}</dd>
      <dt>Who, as claimed</dt>
      <dd>{who.join(", ") || "nobody named"}</dd>
      <dt>{phones.length === 1 ? "Phone" : "Phones"}</dt>
      <dd>
        {phones.map((entry) => `${entry.device_label} (${offsetWords(entry.offset_ms)})`).join("; ") ||
          "none"}
      </dd>
      <dt>Guidance pack</dt>
      <dd>{packs.map((sha) => packVersion(sha)).join("; ") || "none"}</dd>
      {clocks.map((clock) => (
        <Clock key={clock.line} clock={clock} timeline={timeline} />
      ))}
    </dl>
  );
}

const phoneLines = (timeline: Timeline) => timeline.entries.filter((entry) => !isDeskLine(entry.type));

function Clock({ clock, timeline }: { clock: DyeClock; timeline: Timeline }) {
  const entry = timeline.entries.find((one) => one.id === clock.line);
  const names = namesFrom(packOf(entry?.pack ?? null));
  return (
    <>
      <dt>Clock of {names.dye(clock.dye).toLowerCase()}</dt>
      <dd>
        from {clockSeconds(clock.pressed_at)}, {clock.route}
        {clock.arm ? `, ${clock.arm} arm` : ""}
        {clock.uncertain ? "; uncertain, see below" : ""}
      </dd>
    </>
  );
}
