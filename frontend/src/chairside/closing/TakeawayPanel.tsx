/** The card that goes home with the patient: in their language, printed, shared, shown or read out. */
import "../dye/dye.css";
import "./card.css";
import { useState } from "preact/hooks";
import type { TakeawayGiven } from "../../types.gen";
import { Button, Notice, PickOne, Tag } from "../../ui";
import { useDraft } from "../drafts";
import type { PanelProps } from "../guide";
import { languageFor, languageName, ownName } from "../languages";
import { record, saving } from "../record";
import { GIVEN_WORD } from "../tell/dye";
import { cardText, directionOf, languagesOf, linesFor, piecesOf } from "./card";

type How = TakeawayGiven["how"];

export function TakeawayPanel({ state, held, onSaved }: PanelProps) {
  const { pack } = held;
  const card = pack.takeaway;
  const [draft, change] = useDraft(`card/${state.id}`, { language: languageFor(pack, state) });
  const [trouble, setTrouble] = useState<string | null>(null);
  const languages = card ? languagesOf(card, pack) : [];
  if (!card || languages.length === 0) {
    return (
      <div class="stack">
        <p>This guidance has no take-away card. Give the clinic's own leaflet.</p>
        <Button kind="main" big wide onClick={() => void onSaved("the clinic's own leaflet")}>
          The leaflet is given
        </Button>
      </div>
    );
  }
  const language = languages.includes(draft.language) ? draft.language : (languages[0] ?? pack.language);
  const lines = linesFor(card, state);
  const given = async (how: How): Promise<void> => {
    const body = { language, how, parts: how === "declined" ? [] : lines.map((l) => l.id) };
    if ((await record("takeaway.given", body, { case: state.id })) !== null)
      await onSaved(`${GIVEN_WORD[how].toLowerCase()}, ${languageName(language)}`);
  };
  const share = async (): Promise<void> => {
    setTrouble(null);
    try {
      await navigator.share({
        title: card.title[language] ?? "",
        text: cardText(card, lines, language, pack.clinic),
      });
    } catch (error) {
      // the person may have changed their mind: nothing was given, and nothing is logged
      if (!(error instanceof DOMException && error.name === "AbortError"))
        setTrouble(error instanceof Error ? error.message : String(error));
      return;
    }
    await given("shared");
  };
  const print = (): void => {
    window.print();
  };
  return (
    <div class="stack">
      {languages.length > 1 && (
        <PickOne
          legend="The patient's language"
          options={languages.map((id) => ({ id, text: ownName(id), lang: id, help: languageName(id) }))}
          value={language}
          onPick={(id) => id !== null && change({ language: id })}
          across
        />
      )}
      {card.unreviewed.includes(language) && (
        <Tag icon="warn">Wording not yet reviewed by anyone who speaks it</Tag>
      )}
      <article class="takeaway" lang={language} dir={directionOf(language)}>
        <h2>{card.title[language]}</h2>
        <ul>
          {lines.map((l) => (
            <li key={l.id}>
              <Line text={l.text[language] ?? ""} />
            </li>
          ))}
        </ul>
        <p class="strong">
          <Line text={card.reach[language] ?? ""} />
        </p>
        <p class="t-small" dir="auto">
          {pack.clinic}
          {pack.demo ? " · invented demo: not for a patient" : ""}
        </p>
      </article>
      {trouble !== null && (
        <Notice kind="warn" title="It could not be shared" loud>
          <p>{trouble}</p>
        </Notice>
      )}
      <Button wide icon="save" onClick={print}>
        Print the card
      </Button>
      {typeof navigator.share === "function" && (
        <Button wide icon="send" disabled={saving.value > 0} onClick={() => void share()}>
          Share the card
        </Button>
      )}
      <h2>How did the patient get it?</h2>
      <div class="big-answers">
        {(["printed", "shown", "read_out", "declined"] as const).map((how) => (
          <Button key={how} wide disabled={saving.value > 0} onClick={() => void given(how)}>
            {GIVEN_WORD[how]}
          </Button>
        ))}
      </div>
      <p class="t-small quiet">
        The card holds no name and nothing of this case. The clinic's own leaflet and staff come first.
      </p>
    </div>
  );
}

/** A number to call keeps its own order in a text that runs from right to left. */
function Line({ text }: { text: string }) {
  return (
    <>
      {piecesOf(text).map((p, i) =>
        p.number ? (
          <bdi key={`${i}${p.text}`} dir="ltr">
            {p.text}
          </bdi>
        ) : (
          p.text
        ),
      )}
    </>
  );
}
