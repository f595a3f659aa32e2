/** One clock for each dye, and what to do when it has lost its time. */
import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import { Button, Fold, Icon, NumberPad, PickOne, TextField } from "../../ui";
import { actor } from "../app";
import { looksLikePerson } from "../names";
import { record, saving } from "../record";
import { clockText } from "../tell/series";
import type { DyeClock } from "./clocks";

export function Clocks({ clocks }: { clocks: readonly DyeClock[] }) {
  return (
    <dl class="since-dye" aria-label="Since the dye was given">
      {clocks.map((clock) => (
        <div key={clock.dye}>
          <dt>{clock.name}</dt>
          <dd>
            {clock.seconds === null ? (
              <span class="since-dye-lost">
                <Icon name="warn" /> clock uncertain
              </span>
            ) : (
              <time class="since-dye-time" role="timer">
                {clockText(clock.seconds)}
              </time>
            )}
            {clock.agreed && clock.seconds !== null && <span class="quiet t-small"> as agreed</span>}
            {clock.by === "wall" && <span class="quiet t-small"> by the time of day only</span>}
          </dd>
        </div>
      ))}
    </dl>
  );
}

type How = "wall" | "mono" | "other";

/** Both witnesses have failed: both readings, and the team says what it is. Nothing is lost meanwhile. */
export function Uncertain({ state, clock }: { state: CaseState; clock: DyeClock }) {
  const [how, setHow] = useState<How | null>(null);
  const [minutes, setMinutes] = useState("");
  const [by, setBy] = useState(actor.value ?? "");
  const agree = (agreed_s: number): Promise<unknown> =>
    record(
      "clock.uncertain",
      { dye: clock.dye, wall_s: clock.wall_s, mono_s: clock.mono_s, agreed_s, by: by.trim() },
      { case: state.id },
    );
  const warning = looksLikePerson(by);
  return (
    <section
      class="notice notice-danger clock-uncertain"
      role="alert"
      aria-label={`${clock.name}: clock uncertain`}
    >
      <div class="notice-body stack">
        <h2>
          <Icon name="danger" /> {clock.name}: clock uncertain
        </h2>
        <p>
          {clock.foreign
            ? "The dye was logged on another phone, whose clock is not this one's."
            : "The app was started anew or the phone slept, and its time of day cannot vouch for the time between."}{" "}
          Ask the team when the dye was given. Every frame is kept.
        </p>
        <dl class="facts">
          <dt>By the time of day</dt>
          <dd class="number">{clockText(clock.wall_s)}</dd>
          <dt>Counted, at least</dt>
          <dd class="number">{clockText(clock.mono_s)}</dd>
        </dl>
        <PickOne
          legend="What does the team say?"
          options={[
            { id: "wall", text: `${clockText(clock.wall_s)}, by the time of day` },
            { id: "mono", text: `${clockText(clock.mono_s)}, as counted` },
            { id: "other", text: "Another time" },
          ]}
          value={how}
          onPick={(id) => setHow(id as How | null)}
        />
        <TextField
          label="Who says so"
          hint="Initials, or the role."
          value={by}
          onText={setBy}
          warning={warning ?? undefined}
          maxLength={40}
        />
        {how === "other" ? (
          <NumberPad
            label="Minutes since the dye"
            text={minutes}
            rule={{ unit: "min", least: 0, most: 120, decimals: 1 }}
            onText={setMinutes}
            onDone={(value) => void agree(value * 60)}
            done="The clock goes on from this"
          />
        ) : (
          <Button
            kind="main"
            big
            wide
            disabled={how === null || saving.value > 0}
            onClick={() => void agree(how === "wall" ? clock.wall_s : clock.mono_s)}
          >
            The clock goes on from this
          </Button>
        )}
        <Fold word="How both can fail">
          <p class="t-small">
            The phone tells the time since the dye by two clocks: its time of day, and what the app counts
            while it runs. Either one alone is enough. The count fails when the app is started anew or the
            phone sleeps; the time of day, when it is set, or when the app stood still for nearly half an
            hour.
          </p>
        </Fold>
      </div>
    </section>
  );
}
