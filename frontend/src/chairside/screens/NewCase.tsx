import { useState } from "preact/hooks";
import type { Eye, Modality } from "../../log";
import { Button, LinkButton, Notice, PickMany, Segmented, TextArea, TextField } from "../../ui";
import { actor, app, askWho, setActor } from "../app";
import { NEW_CASE, useDraft } from "../drafts";
import { PageFrame } from "../frame/CaseFrame";
import { codeLooksLikePerson, looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { goCase } from "../router";
import { casesInHand } from "../wiring";
import { EYE_WORD, MODALITY_WORD } from "../words";

interface Draft {
  code: string;
  eyes: "right" | "left" | "both" | null;
  studyEye: Eye | "none" | null;
  modalities: Modality[];
  crossSections: boolean | null;
  flags: string[];
  note: string;
  practice: boolean;
}

const EMPTY: Draft = {
  code: "",
  eyes: null,
  studyEye: null,
  modalities: [],
  crossSections: null,
  flags: [],
  note: "",
  practice: false,
};

const LIST: Record<"right" | "left" | "both", Eye[]> = {
  right: ["right"],
  left: ["left"],
  both: ["right", "left"],
};
const MODALITIES = (Object.keys(MODALITY_WORD) as Modality[]).map((id) => ({ id, text: MODALITY_WORD[id] }));

/** What is still needed before the case can begin, each as a sentence. */
function lacking(d: Draft): string[] {
  const lacks: string[] = [];
  if (d.code.trim() === "") lacks.push("Enter the case code.");
  if (d.eyes === null) lacks.push("Say which eye.");
  if (d.eyes === "both" && d.studyEye === null)
    lacks.push("Say which is the study eye, or that there is none.");
  if (d.modalities.length === 0) lacks.push("Say what is asked for.");
  if (d.crossSections === null) lacks.push("Say whether cross-sections are asked for.");
  return lacks;
}

/** A new case, from the request: a code, never a name. */
export function NewCase() {
  const held = app.shelf.current.value;
  const recalled = app.shelf.recall.value !== null;
  const [d, change, drop] = useDraft<Draft>(NEW_CASE, EMPTY);
  const [asked, setAsked] = useState(false);
  const [asksWho] = useState(() => askWho(Date.now()));
  const [who, setWho] = useState(actor.value ?? "");
  const lacks = lacking(d);
  const twin = app.log.cases.value.find((c) => c.state === "open" && c.code === d.code.trim());
  const inHand = casesInHand(app.log.cases.value, app.log.device.value?.id ?? null);

  const begin = async () => {
    setAsked(true);
    if (lacks.length > 0 || !held || recalled || d.eyes === null) return;
    const id = app.log.newCase();
    const saved = await record(
      "case.opened",
      {
        code: d.code.trim(),
        eyes: LIST[d.eyes],
        study_eye: d.eyes !== "both" ? d.eyes : d.studyEye === "none" ? null : d.studyEye,
        modalities: d.modalities,
        cross_sections: d.crossSections === true,
        flags: d.flags,
        note: d.note.trim(),
      },
      { case: id, practice: d.practice, pack: held.sha256 },
    );
    if (!saved) return; // what was entered stays, and the reason is on the screen
    // the same person, another shift: what stands in the field is said anew
    if (asksWho) setActor(who);
    drop();
    goCase(id, "step");
  };

  if (!held || recalled) {
    return (
      <PageFrame title="New case">
        <Notice kind="warn" title={recalled ? "No case can begin now" : "No guidance on this phone yet"}>
          <p>
            {recalled
              ? "The guidance on this phone was recalled. Newer guidance comes with an answer of the server."
              : "A case needs the site's approved guidance. It comes with the first answer of the server."}
          </p>
          <LinkButton href="#/">Back to the cases</LinkButton>
        </Notice>
      </PageFrame>
    );
  }
  return (
    <PageFrame
      title="New case"
      act={
        <Button kind="main" big onClick={() => void begin()} disabled={saving.value > 0}>
          Begin
        </Button>
      }
    >
      {inHand.length > 0 && (
        <Notice title={`Case ${inHand[0]?.code} is still open here`}>
          <p>It stays open while this one runs.</p>
        </Notice>
      )}
      {asksWho && (
        <TextField
          label="Who works on this phone"
          hint="Your initials or staff id, asked once a shift. Without it the lines name nobody."
          value={who}
          onText={(typed) => {
            setWho(typed);
            setActor(typed);
          }}
          maxLength={40}
        />
      )}
      <TextField
        label="Case code"
        hint={`The clinic's own code. ${NO_NAMES}`}
        value={d.code}
        onText={(code) => change({ code })}
        autocapitalize="characters"
        maxLength={40}
        warning={codeLooksLikePerson(d.code) ?? undefined}
        error={asked && d.code.trim() === "" ? "Enter the case code." : undefined}
      />
      {twin && (
        <Notice kind="warn" title="A case with this code is open already">
          <LinkButton href={`#/case/${twin.id}`}>Go to it</LinkButton>
        </Notice>
      )}
      <Segmented
        legend="Which eye"
        options={[
          { id: "right", text: EYE_WORD.right },
          { id: "left", text: EYE_WORD.left },
          { id: "both", text: "Both" },
        ]}
        value={d.eyes}
        onPick={(eyes) => change({ eyes })}
        error={asked && d.eyes === null ? "Say which eye." : undefined}
      />
      {d.eyes === "both" && (
        <Segmented
          legend="Study eye"
          hint="The eye that the dye series is for."
          options={[
            { id: "right", text: "Right" },
            { id: "left", text: "Left" },
            { id: "none", text: "None named" },
          ]}
          value={d.studyEye}
          onPick={(studyEye) => change({ studyEye })}
          error={asked && d.studyEye === null ? "Say which, or that none is named." : undefined}
        />
      )}
      <PickMany
        legend="Asked for"
        options={MODALITIES}
        values={d.modalities}
        onPick={(ids) => change({ modalities: ids as Modality[] })}
        error={asked && d.modalities.length === 0 ? "Pick at least one." : undefined}
      />
      <Segmented
        legend="Cross-sections asked for"
        options={[
          { id: "yes", text: "Yes" },
          { id: "no", text: "No" },
        ]}
        value={d.crossSections === null ? null : d.crossSections ? "yes" : "no"}
        onPick={(id) => change({ crossSections: id === "yes" })}
        error={asked && d.crossSections === null ? "Say yes or no." : undefined}
      />
      <PickMany
        legend="What to know about the patient"
        hint="Pick all that hold. Each adds or changes steps."
        options={held.pack.choices.flags}
        values={d.flags}
        onPick={(flags) => change({ flags })}
      />
      <TextArea
        label="Note (may stay empty)"
        hint={NO_NAMES}
        value={d.note}
        onText={(note) => change({ note })}
        maxLength={500}
        warning={looksLikePerson(d.note) ?? undefined}
      />
      <Segmented
        legend="Counts as"
        hint="Practice is marked on every screen and never counted."
        options={[
          { id: "case", text: "A patient's case" },
          { id: "practice", text: "Practice" },
        ]}
        value={d.practice ? "practice" : "case"}
        onPick={(id) => change({ practice: id === "practice" })}
      />
      {asked && lacks.length > 0 && (
        <Notice kind="warn" title="Not yet" loud>
          <ul class="bullets">
            {lacks.map((l) => (
              <li key={l}>{l}</li>
            ))}
          </ul>
        </Notice>
      )}
    </PageFrame>
  );
}
