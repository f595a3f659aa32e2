import type { ComponentChildren } from "preact";
import type { CaseState } from "../../log";
import { Icon, Tag } from "../../ui";
import type { Guidance } from "../app";
import { go } from "../router";
import { EYE_WORD, eyesWord } from "../words";
import { Banners } from "./Banners";
import { BottomBar } from "./BottomBar";
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
  return (
    <div class="case-frame">
      <header class="case-head">
        <div class="case-head-row">
          <a class="button button-quiet" href="#/">
            <Icon name="back" />
            <span>Cases</span>
          </a>
          <p class="case-name">
            <span class="t-do">{state.code || "Code not here yet"}</span>{" "}
            <span class="case-eyes">
              {eyesWord(state.eyes)}
              {state.studyEye && state.eyes.length > 1
                ? `, study eye: ${EYE_WORD[state.studyEye].toLowerCase()}`
                : ""}
            </span>
          </p>
          {state.practice && (
            <Tag icon="practice" practice>
              Practice
            </Tag>
          )}
        </div>
        <SavedLine />
      </header>
      <Banners sha256={guidance?.held.sha256 ?? state.pack} />
      <main class="case-main" id="main" tabIndex={-1}>
        {children}
      </main>
      <BottomBar />
    </div>
  );
}

/** The same frame outside a case: only the way out and the way home. */
export function PageFrame({
  title,
  home,
  children,
}: {
  title: string;
  home?: boolean;
  children: ComponentChildren;
}) {
  return (
    <div class="case-frame">
      <header class="case-head">
        <div class="case-head-row">
          {!home && (
            <button type="button" class="button button-quiet" onClick={() => go({ page: "home" })}>
              <Icon name="back" />
              <span>Cases</span>
            </button>
          )}
          <h1 class="case-name">{title}</h1>
        </div>
        <SavedLine />
      </header>
      <Banners sha256={null} />
      <main class="case-main" id="main" tabIndex={-1}>
        {children}
      </main>
      <BottomBar outside />
    </div>
  );
}
