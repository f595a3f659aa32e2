import { useEffect } from "preact/hooks";
import { type CaseState, isOnlyReaction } from "../../log";
import { LinkButton, Loading, Notice } from "../../ui";
import { app, type Guidance, useGuidance } from "../app";
import { CaseFrame, PageFrame } from "../frame/CaseFrame";
import { later } from "../later";
import { StopStrip } from "../panels";
import { caseScreen } from "../routes";
import { useWakeLock } from "../wake";

const ClosedCase = later(() => import("../further").then((m) => m.ClosedCase));
const OnlyReaction = later(() => import("../further").then((m) => m.OnlyReaction));
const TakeOver = later(() => import("../further").then((m) => m.TakeOver));

/** One case: its guidance, then the screen that the address names. */
export function CasePage({ id, screen, tail }: { id: string; screen: string; tail: string[] }) {
  // read so that the page follows every line that is written or arrives
  const state = app.log.cases.value.find((c) => c.id === id);
  const guidance = useGuidance(state);
  const open = state?.state === "open";
  useWakeLock(open);
  useEffect(() => {
    document.title = state ? `${state.code || "Case"} · Chinrest` : "Chinrest";
    return () => {
      document.title = "Chinrest";
    };
  }, [state?.code, state]);

  if (!state) {
    return (
      <PageFrame title="Case">
        <Notice kind="warn" title="This case is not on this phone">
          <p>It may have been cleared after the server had all of it, or it belongs to another site.</p>
          <LinkButton href="#/">Back to the cases</LinkButton>
        </Notice>
      </PageFrame>
    );
  }
  return (
    <CaseFrame state={state} guidance={guidance ?? null}>
      <Inside state={state} guidance={guidance} screen={screen} tail={tail} />
    </CaseFrame>
  );
}

function Inside({
  state,
  guidance,
  screen,
  tail,
}: {
  state: CaseState;
  guidance: Guidance | null | undefined;
  screen: string;
  tail: string[];
}) {
  if (isOnlyReaction(state)) return <OnlyReaction state={state} />;
  if (state.state === "closed") return <ClosedCase state={state} held={guidance?.held ?? null} />;
  if (state.heldBy !== app.log.device.value?.id || state.handedTo !== null) return <TakeOver state={state} />;
  if (guidance === undefined) return <Loading>Looking for this case's guidance…</Loading>;
  if (guidance === null) {
    return (
      <Notice kind="warn" title="No guidance on this phone">
        <p>
          Comfort, events and the emergency page still work and are recorded. Steps need the site's guidance.
        </p>
      </Notice>
    );
  }
  const Screen = caseScreen(screen);
  return (
    <div class="stack">
      {!guidance.own && (
        <Notice kind="warn" title="Other guidance than this case began with">
          <p>
            The guidance it began with is not on this phone; version {guidance.held.pack.version} stands in.
            Steps may differ.
          </p>
        </Notice>
      )}
      {state.dye.screening.size > 0 && <StopStrip state={state} held={guidance.held} />}
      {Screen ? (
        <Screen state={state} held={guidance.held} tail={tail} />
      ) : (
        <Notice kind="warn" title="There is no such screen">
          <p>“{screen}” is not a screen of this app.</p>
          <LinkButton href={`#/case/${state.id}`}>Go to the steps</LinkButton>
        </Notice>
      )}
    </div>
  );
}
