/** A card to hold before the patient: one phrase in large print in the patient's language, spoken where the phone can. */
import "./card.css";
import "../guide.css";
import { useEffect } from "preact/hooks";
import { type CaseState, isOnlyReaction } from "../../log";
import { stepsFor } from "../../pack";
import type { Pack } from "../../types.gen";
import { Button, LinkButton, Loading, Notice, PickOne } from "../../ui";
import { app, useGuidance } from "../app";
import { PageFrame } from "../frame/CaseFrame";
import { situationOf } from "../guide";
import { directionOf, languageFor, languageName, ownName, phraseIn, pickedLanguage } from "../languages";
import { record } from "../record";
import { formatRoute, go } from "../router";
import { firstOpen } from "../steps/flow";
import { casesInHand } from "../wiring";
import { hush, silent, speak, speaking, voiceNow } from "./speech";

/** In the address where a phrase would stand: the list. */
const ALL = "all";

const hrefOfCard = (phrase: string, state: CaseState | null): string =>
  formatRoute({ page: "card", tail: state === null ? [phrase] : [phrase, state.id] });

export function Card({ tail }: { tail: string[] }) {
  const open = app.log.cases.value.filter((c) => c.state === "open" && !isOnlyReaction(c));
  const mine = casesInHand(open, app.log.device.value?.id ?? null);
  const named = open.find((c) => c.id === tail[1]) ?? null;
  const only = tail[1] === undefined && mine.length === 1 ? mine[0]?.id : undefined;
  const phrase = tail[0] === undefined || tail[0] === ALL ? null : tail[0];
  useEffect(() => {
    if (only !== undefined) go({ page: "card", tail: [phrase ?? ALL, only] }, { replace: true });
  }, [only, phrase]);
  useEffect(() => hush, [phrase]);
  const guidance = useGuidance(named ?? undefined);
  if (guidance === undefined) return <Loading>Looking for the guidance…</Loading>;
  const pack = (guidance?.held ?? app.shelf.current.value)?.pack;
  if (pack === undefined) {
    return (
      <PageFrame title="Card for the patient">
        <Notice kind="warn" title="No guidance on this phone yet">
          <p>The phrases come with it, at the first answer of the server.</p>
        </Notice>
      </PageFrame>
    );
  }
  const shared = { pack, state: named, language: languageFor(pack, named) };
  return phrase === null ? <Phrases {...shared} /> : <OnePhrase {...shared} phrase={phrase} />;
}

interface Shared {
  pack: Pack;
  state: CaseState | null;
  language: string;
}

function Phrases({ pack, state, language }: Shared) {
  const all = Object.keys(pack.phrases[pack.language] ?? {});
  const plan = state === null ? [] : stepsFor(pack, situationOf(state));
  const now = state === null ? null : firstOpen(plan, state.steps, state.optic);
  const said = now?.step.say;
  const inOrder = [...new Set(pack.steps.map((s) => s.say))].filter((p) => all.includes(p));
  const lists = [
    { title: "Now", phrases: all.filter((p) => p === said) },
    { title: "At any time", phrases: all.filter((p) => p !== said && !inOrder.includes(p)) },
    { title: "In the order of the visit", phrases: inOrder.filter((p) => p !== said) },
  ];
  return (
    <PageFrame title="Card for the patient" act={<BackToCase state={state} />}>
      <Languages pack={pack} state={state} language={language} />
      {lists.map(
        ({ title, phrases }) =>
          phrases.length > 0 && (
            <section key={title} class="stack-tight" aria-label={title}>
              <h2>{title}</h2>
              <ul class="frames">
                {phrases.map((phrase) => (
                  <li key={phrase}>
                    <a class="frame-row card-row" href={hrefOfCard(phrase, state)} lang={pack.language}>
                      {pack.phrases[pack.language]?.[phrase]}
                    </a>
                  </li>
                ))}
              </ul>
            </section>
          ),
      )}
    </PageFrame>
  );
}

function Languages({ pack, state, language }: Shared) {
  const spoken = Object.keys(pack.phrases);
  if (spoken.length < 2) return null;
  const pick = (id: string | null): void => {
    if (id === null || id === language) return;
    if (state === null) pickedLanguage.value = id;
    else void record("language.chosen", { language: id }, { case: state.id });
  };
  return (
    <PickOne
      legend="The patient's language"
      options={spoken.map((id) => ({
        id,
        text: ownName(id),
        lang: id,
        help: pack.phrases_unreviewed?.includes(id) ? `${languageName(id)}, not reviewed` : languageName(id),
      }))}
      value={language}
      onPick={pick}
      across
    />
  );
}

function OnePhrase({ pack, state, language, phrase }: Shared & { phrase: string }) {
  const said = phraseIn(pack, language, phrase);
  const list = hrefOfCard(ALL, state);
  if (said === null) {
    return (
      <PageFrame title="Card for the patient">
        <Notice kind="warn" title="There is no such phrase in this guidance">
          <LinkButton href={list}>All phrases</LinkButton>
        </Notice>
      </PageFrame>
    );
  }
  const own = pack.phrases[pack.language]?.[phrase];
  return (
    <PageFrame
      title="Card"
      act={
        <LinkButton big href={list}>
          All phrases
        </LinkButton>
      }
    >
      <div class="stack">
        {said.standsIn && (
          <Notice kind="warn" title={`Not said in ${languageName(language)}`}>
            <p>{languageName(said.language)} stands in. Ask for an interpreter.</p>
          </Notice>
        )}
        <blockquote class="card-say" lang={said.language} dir={directionOf(said.language)}>
          {said.text}
        </blockquote>
        {said.unreviewed && (
          <Notice kind="warn" title="Wording not yet reviewed">
            <p>
              Nobody who speaks {languageName(said.language)} has signed it for this clinic. It does not
              replace an interpreter.
            </p>
          </Notice>
        )}
        {said.language !== pack.language && own !== undefined && (
          <p class="quiet" lang={pack.language}>
            {own}
          </p>
        )}
        <Aloud text={said.text} language={said.language} />
      </div>
      <Languages pack={pack} state={state} language={language} />
      <BackToCase state={state} />
    </PageFrame>
  );
}

/** Speaks it, or says why this phone cannot. */
function Aloud({ text, language }: { text: string; language: string }) {
  const voice = voiceNow(language);
  if (voice.kind !== "here") {
    const name = languageName(language);
    return (
      <p class="quiet">
        {voice.kind === "absent"
          ? "This browser cannot speak. Read it aloud, or show it."
          : voice.kind === "elsewhere"
            ? `The phone's ${name} voice needs a network and sends the words away, so it is not used. Show the card.`
            : `This phone has no ${name} voice. Show the card.`}
      </p>
    );
  }
  const now = speaking.value === text;
  return (
    <div class="stack-tight">
      <Button wide pressed={now} onClick={() => (now ? hush() : speak(text, language, voice.voice))}>
        {now ? "Stop speaking" : "Speak it aloud"}
      </Button>
      {silent.value !== null && <p role="status">{silent.value}</p>}
    </div>
  );
}

function BackToCase({ state }: { state: CaseState | null }) {
  if (state === null || state.heldBy !== app.log.device.value?.id) return null;
  return (
    <LinkButton icon="back" big href={formatRoute({ page: "case", id: state.id, screen: "step", tail: [] })}>
      Back to the case
    </LinkButton>
  );
}
