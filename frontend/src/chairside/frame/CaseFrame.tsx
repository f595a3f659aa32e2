import type { ComponentChildren } from "preact";
import type { CaseState } from "../../log";
import { Icon } from "../../ui";
import type { Guidance } from "../app";
import { RestStrip } from "../comfort/RestStrip";
import { PracticeTag } from "../reaction/PracticeMark";
import { ReactionStrip } from "../reaction/ReactionStrip";
import { SeriesSlot } from "../series/Slot";
import { UnfinishedLink } from "../unfinished/UnfinishedLink";
import { eyesWord } from "../words";
import { Banners } from "./Banners";
import { BottomBar } from "./BottomBar";
import { PauseStrip } from "./PauseStrip";
import { SavedLine } from "./SavedLine";

/** Around every screen of a case: whose case it is, where it is saved, and the four ways out under the thumb. */
export function CaseFrame({
  state,
  guidance,
  children,
}: {
  state: CaseState;
  guidance: Guidance | null;
  children: ComponentChildren;
}) {
  const study = state.studyEye && state.eyes.length > 1 ? `, study: ${state.studyEye}` : "";
  return (
    <div class="case-frame">
      <header>
        <div class="case-head">
          <div class="case-head-row">
            <Home />
            <p class="case-name">
              <span class="t-do">{state.code || "Code not here yet"}</span>{" "}
              <span class="case-eyes">
                {eyesWord(state.eyes)}
                {study}
              </span>
            </p>
            {state.practice && <PracticeTag state={state} />}
          </div>
          <SavedLine demo={guidance?.held.pack.demo ?? false} />
        </div>
        <Banners sha256={guidance?.held.sha256 ?? state.pack} />
        <ReactionStrip of={state} />
        <PauseStrip state={state} />
        <RestStrip state={state} everyMin={guidance?.held.pack.thresholds.chin_rest_break_min ?? 0} />
        <UnfinishedLink state={state} />
        <SeriesSlot />
      </header>
      <main class="case-main" id="main" tabIndex={-1}>
        {children}
      </main>
      <BottomBar />
    </div>
  );
}

/** The same frame outside a case: the way out, the way home, and at most one thing to do under the thumb. */
export function PageFrame({
  title,
  home,
  act,
  children,
}: {
  title: ComponentChildren;
  home?: boolean;
  act?: ComponentChildren;
  children: ComponentChildren;
}) {
  return (
    <div class="case-frame">
      <header>
        <div class="case-head">
          <div class="case-head-row">
            {!home && <Home />}
            <h1 class="page-name">{title}</h1>
          </div>
          {!home && <SavedLine />}
        </div>
        <Banners sha256={null} />
        <SeriesSlot />
        <ReactionStrip of={null} />
      </header>
      <main class="case-main" id="main" tabIndex={-1}>
        <div class="stack-wide">{children}</div>
      </main>
      <BottomBar outside act={act} />
    </div>
  );
}

function Home() {
  return (
    <a class="button button-quiet head-home" href="#/">
      <Icon name="back" />
      <span>Cases</span>
    </a>
  );
}
