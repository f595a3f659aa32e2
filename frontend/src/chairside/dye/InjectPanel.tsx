/** The injection of one dye: held to confirm, then the leak asked at once, then the flush; then the series. */
import "./dye.css";
import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import type { Dye, Pack } from "../../types.gen";
import { Button, LinkButton, Notice, PickOne } from "../../ui";
import { app } from "../app";
import type { PanelProps } from "../guide";
import { eventPrefill } from "../guide";
import { useNow } from "../now";
import { dyeClocks } from "../reaction/dyeClocks";
import { record, saving } from "../record";
import { goCase, hrefOf, openOver } from "../router";
import { Since, useReadings } from "../Since";
import {
  askedDyes,
  doseStanding,
  injectionOf,
  needleArm,
  notComputed,
  orderStanding,
} from "../screening/course";
import { ARM_WORD } from "../tell/dye";
import { clock } from "../words";
import { closedNow } from "./aged";
import { ClosedList } from "./ClosedList";
import { HoldButton } from "./HoldButton";
import type { Began } from "./hold";

export interface DyeProps extends PanelProps {
  dye: string;
  /** The step that the event sheet names when a leak is told. */
  step: string | null;
}

export function InjectPanel(props: DyeProps) {
  const { state, held, onSaved } = props;
  const now = useNow(30_000);
  const dye = held.pack.dyes.find((d) => d.id === props.dye);
  if (dye === undefined || !askedDyes(held.pack, state).some((d) => d.id === dye.id)) {
    return (
      <div class="stack">
        <p>This dye is not asked for in this case.</p>
        <Button kind="main" big wide onClick={() => void onSaved("not asked for")}>
          Go on
        </Button>
      </div>
    );
  }
  const injection = injectionOf(state, dye.id);
  if (injection !== null) return <After {...props} dye={dye} at={injection.body.pressed_at} />;
  const closed = closedNow(held.pack, state, dye.id, now);
  if (closed.length > 0)
    return (
      <ClosedList state={state} title={`No injection of ${dye.name.toLowerCase()} yet`} closed={closed} />
    );
  return <Before state={state} pack={held.pack} dye={dye} />;
}

function Before({ state, pack, dye }: { state: CaseState; pack: Pack; dye: Dye }) {
  const caution = pack.dosing?.caution ?? "";
  const ordered = notComputed(pack, state, dye.id).length > 0;
  const { dose } = doseStanding(state, dye.id);
  const { check } = ordered ? orderStanding(pack, state, dye.id) : doseStanding(state, dye.id);
  const arm = needleArm(state);
  const [picked, setPicked] = useState<string | null>(null);
  const route = dye.routes.length > 1 ? picked : (dye.routes[0] ?? "");
  const inject = async ({ wall, mono }: Began): Promise<void> => {
    if (route === null) return;
    const body = { dye: dye.id, arm, route, pressed_at: wall, pressed_mono: mono };
    await record("dye.injected", body, { case: state.id });
  };
  return (
    <div class="stack">
      <dl class="facts">
        <dt>Dye</dt>
        <dd class="strong">{dye.name}</dd>
        {ordered ? (
          <>
            <dt>By the physician's own order</dt>
            <dd class="strong">{check?.body.note}</dd>
          </>
        ) : (
          <>
            <dt>In the syringe</dt>
            <dd class="strong number">
              {dose?.body.volume_ml} mL of {dose?.body.concentration_mg_ml} mg/mL ({dose?.body.dose_mg} mg)
            </dd>
          </>
        )}
        <dt>Checked by</dt>
        <dd>
          {check?.body.by}, {check?.body.role}
        </dd>
        <dt>Arm</dt>
        <dd>{arm === null ? "not an arm" : ARM_WORD[arm]}</dd>
      </dl>
      {dye.routes.length > 1 && (
        <PickOne
          legend="Route"
          across
          options={dye.routes.map((id) => ({ id, text: id }))}
          value={picked}
          onPick={setPicked}
        />
      )}
      <HoldButton
        word="The dye goes in now"
        hint={route === null ? "Pick the route first" : "Hold for one second as the bolus begins"}
        disabled={route === null || saving.value > 0}
        onHeld={(began) => void inject(began)}
      />
      <p class="t-small quiet">
        The clock counts from when the press began. The person who injects decides and injects; this only
        times it.
      </p>
      {caution !== "" && (
        <Notice kind="warn">
          <p>{caution}</p>
        </Notice>
      )}
    </div>
  );
}

function After({ state, held, dye, at, step, onSaved }: Omit<DyeProps, "dye"> & { dye: Dye; at: number }) {
  const readings = useReadings(200);
  const since = dyeClocks(state, app.log.device.value?.id ?? null, readings).find((c) => c.dye === dye.id);
  const leak = state.dye.leaks.filter((l) => l.body.dye === dye.id && l.body.moment !== "at_the_end").at(-1);
  const flushed = state.dye.flushed.some((f) => f.body.dye === dye.id);
  const next = askedDyes(held.pack, state).find((d) => injectionOf(state, d.id) === null);
  const answerLeak = async (is: boolean): Promise<void> => {
    const body = { dye: dye.id, leak: is, note: "", moment: "at_injection" as const };
    if ((await record("leak.asked", body, { case: state.id })) === null || !is) return;
    eventPrefill.value = { what: "leak_at_needle", reached_patient: true, step };
    openOver("event");
  };
  const toSeries = async (): Promise<void> => {
    await onSaved(`${clock(at)}${leak?.body.leak ? ", leak" : ""}`);
    goCase(state.id, "series");
  };
  return (
    <div class="stack">
      <p>
        {since && (
          <Since clock={since} as="dye-clock" label={`Since the injection of ${dye.name.toLowerCase()}`} />
        )}
        <br />
        {dye.name}, begun at {clock(at)}
      </p>
      {leak === undefined ? (
        <section class="stack" aria-labelledby="leak">
          <h2 class="t-do" id="leak">
            At the needle: pain, swelling, resistance?
          </h2>
          <div class="pair-big">
            <Button
              kind="main"
              big
              icon="tick"
              disabled={saving.value > 0}
              onClick={() => void answerLeak(false)}
            >
              No leak
            </Button>
            <Button
              kind="danger"
              big
              icon="danger"
              disabled={saving.value > 0}
              onClick={() => void answerLeak(true)}
            >
              A leak
            </Button>
          </div>
        </section>
      ) : (
        <>
          {leak.body.leak && (
            <Notice kind="danger" title="A leak at the needle" loud>
              <p>The person who injects stops. They and the physician decide on the arm and on going on.</p>
              {state.safety.every((s) => s.body.what !== "leak_at_needle") && (
                <Button
                  icon="event"
                  onClick={() => {
                    eventPrefill.value = { what: "leak_at_needle", reached_patient: true, step };
                    openOver("event");
                  }}
                >
                  Record it as an event
                </Button>
              )}
            </Notice>
          )}
          {!flushed && (
            <section class="stack" aria-labelledby="flush">
              <h2 class="t-do" id="flush">
                Now the flush: {dye.flush_ml} mL of saline
              </h2>
              <Button
                kind={leak.body.leak ? "plain" : "main"}
                big
                wide
                icon="tick"
                disabled={saving.value > 0}
                onClick={() => void record("dye.flushed", { dye: dye.id }, { case: state.id })}
              >
                The flush is in
              </Button>
            </section>
          )}
          {flushed && next && (
            <LinkButton kind="main" big wide href={hrefOf(state.id, "inject", next.id)}>
              Now the injection of {next.name.toLowerCase()}
            </LinkButton>
          )}
          {flushed && (
            <Button
              kind={next ? "plain" : "main"}
              big
              wide
              icon="forward"
              disabled={saving.value > 0}
              onClick={() => void toSeries()}
            >
              To the series
            </Button>
          )}
        </>
      )}
      {(leak === undefined || !flushed) && (
        <LinkButton wide href={hrefOf(state.id, "series")}>
          To the series now; ask this after
        </LinkButton>
      )}
      {leak?.body.leak && !flushed && (
        <Button wide disabled={saving.value > 0} onClick={() => void toSeries()}>
          No flush: stopped
        </Button>
      )}
      {next && !flushed && (
        <p class="quiet">
          {next.name} is asked for too, and not yet in.{" "}
          <a href={hrefOf(state.id, "inject", next.id)}>Go to its injection</a>
        </p>
      )}
    </div>
  );
}
