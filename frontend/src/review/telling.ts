/** Tells one line of the log in words: a title and what it holds, with units. Pure, so that it can be tested. */

import type { BodyOf, EyeSide } from "../types.gen";
import { DYE_TELLERS } from "./dye";
import type { Names } from "./names";
import { ERASURE_TELLERS } from "./tellingErasures";
import { PLAN_TELLERS } from "./tellingPlans";
import { REACTION_TELLERS } from "./tellingReactions";
import { REVIEW_TELLERS } from "./tellingReviews";
import { afterDye, SERIES_TELLERS } from "./tellingSeries";
import { type Row, row, type Telling, told, yes } from "./told";
import {
  chinWords,
  closenessWords,
  deg,
  gazeWords,
  HARM_SCALE,
  harmWords,
  mm,
  modalityWords,
  noTurnWords,
  reachedWords,
  sentence,
  turnWords,
} from "./words";

export type { Row, Telling, Tone } from "./told";

type Tellers = { [T in keyof BodyOf]: (body: BodyOf[T], names: Names) => Telling };

const round = (eye?: EyeSide | null, optic?: string | null, names?: Names): string =>
  [eye ? `${eye} eye` : "", optic && names ? names.optic(optic) : ""].filter(Boolean).join(", ");

/** As the patient told it: of what came later there is no other witness. */
function lateWhen(b: BodyOf["safety.noted"]): string {
  const hours = typeof b.after_dye_h === "number" ? `about ${b.after_dye_h} h after the dye` : "";
  const said = [hours, b.when ? `“${b.when}”` : ""].filter(Boolean).join("; ");
  return `after the case was closed${said ? `: ${said}` : "; nobody said when"}`;
}

export function advisedRows(body: BodyOf["pose.advised"], names: Names): Row[] {
  if (body.yaw_deg === null)
    return [["Advice", body.reason ? noTurnWords(body.reason) : "No turn computed."]];
  const rows = [
    row("Turn of the face", turnWords(body.yaw_deg, body.eye)),
    row("Chin", chinWords(body.pitch_deg)),
    row("Working distance", mm(body.working_distance_mm)),
    row("Least gap", mm(body.clearance_mm)),
    row("Nearest", body.nearest ? names.choice("nearest", body.nearest) : "not said"),
    row("Field", deg(body.field_deg)),
    row("Closeness", closenessWords(body.words)),
    body.reason ? row("Note", noTurnWords(body.reason)) : null,
  ];
  return rows.filter((r) => r !== null);
}

const COMFORT_SCALE = "of 10 (0 comfortable, 10 as bad as can be)";

const TELLERS: Tellers = {
  ...DYE_TELLERS,
  ...REVIEW_TELLERS,
  ...ERASURE_TELLERS,
  "case.opened": (b, n) =>
    told(`Case ${b.code} opened`, [
      row("Eyes", b.eyes.join(", ")),
      row("Study eye", b.study_eye),
      row("Asked for", b.modalities.map(modalityWords).join(", ")),
      row("Cross-sections", yes(b.cross_sections)),
      row("Flags", n.choices("flags", b.flags)),
      row("Note", b.note),
    ]),
  "case.flagged": (b, n) =>
    told("Flags changed", [
      row("Flags now", n.choices("flags", b.flags) || "none"),
      row("Study eye", b.study_eye),
    ]),
  "case.taken": (b) => told("Taken over by this device", [row("Lines seen", String(b.seen))]),
  "optic.chosen": (b, n) =>
    told(`Optic: ${n.optic(b.optic)}`, [
      row("Suggested", b.suggested && b.suggested !== b.optic ? n.optic(b.suggested) : ""),
      row("Reason", b.reason),
    ]),
  "step.done": (b, n) =>
    told(n.step(b.step), [row("Done", b.value ?? "yes"), row("Round", round(b.eye, b.optic, n))]),
  "step.skipped": (b, n) =>
    told(
      `Not done: ${n.step(b.step)}`,
      [
        row("Reason", n.choice("skip_reasons", b.reason)),
        row("Note", b.note),
        row("Round", round(b.eye, b.optic, n)),
      ],
      "caution",
    ),
  "face.measured": (b, n) =>
    told(`Face measures, ${b.eye} eye`, [
      row("Between the pupils", mm(b.pd_mm)),
      row(
        "Exophthalmometry",
        typeof b.exophthalmometry === "number" ? mm(b.exophthalmometry) : `judged ${b.exophthalmometry}`,
      ),
      row("Nose bridge", b.nose),
      row("Brow", b.brow),
      row("Neck", b.neck),
      row("Age", n.choice("age_bands", b.age_band)),
      row("No turn computed because", b.unusual ? n.choice("unusual", b.unusual) : ""),
    ]),
  "pupil.measured": (b) =>
    told(`Pupil, ${b.eye} eye`, [row("Width", mm(b.pupil_mm)), row("Dilated", yes(b.dilated))]),
  "fixation.chosen": (b) =>
    told(`Fixation, ${b.eye} eye`, [
      row(
        "Method",
        { inside: "inside light", outside: "outside light", spoken: "spoken guidance" }[b.method],
      ),
      row("Imaged eye sees", yes(b.imaged_sees)),
      row("Fellow eye sees", yes(b.fellow_sees)),
      row("Squint", yes(b.squint)),
      row("Drifts", yes(b.drifts)),
    ]),
  "pose.advised": (b, n) =>
    told(
      `Pose advised, ${b.eye} eye`,
      [row("Optic", n.optic(b.optic)), row("Gaze", gazeWords(b.gaze_deg)), ...advisedRows(b, n)],
      "pose",
    ),
  "pose.found": (b, n) =>
    told(
      `Pose as it was, ${b.eye} eye`,
      [row("Optic", n.optic(b.optic)), row("Gaze", gazeWords(b.gaze_deg))],
      b.touched ? "danger" : "pose",
    ),
  "frame.taken": (b, n) =>
    told(
      `Frame ${b.outcome}: ${n.field(b.field)}`,
      [
        row("Round", round(b.eye, b.optic, n)),
        row("For", modalityWords(b.modality)),
        row("Gaze", gazeWords(b.gaze_deg)),
        row("When", afterDye(b.dye_s)),
        row("Reason", b.reason ? n.choice("frame_again", b.reason) : ""),
      ],
      b.outcome === "taken" ? "plain" : "caution",
    ),
  ...SERIES_TELLERS,
  ...PLAN_TELLERS,
  ...REACTION_TELLERS,
  "comfort.noted": (b, n) =>
    told(
      `Comfort ${b.score} ${COMFORT_SCALE}`,
      [row("Bothered by", n.choices("bothers", b.bothers)), row("Note", b.note)],
      "comfort",
    ),
  "pause.noted": (b) => told(`Pause ${b.state}`, [row("Why", b.why)], "comfort"),
  "safety.noted": (b, n) =>
    told(
      `${b.reached_patient === false ? "Near miss" : "Safety event"}: ${n.choice("safety_what", b.what)}`,
      [
        row("When", b.late ? lateWhen(b) : afterDye(b.dye_s)),
        row("Reached the patient", reachedWords(b.reached_patient)),
        row(HARM_SCALE, harmWords(b.harm)),
        row("Signs", b.signs.map((id) => n.sign(id)).join("; ")),
        row("Done", n.choices("safety_done", b.done)),
        row("Told", n.choices("told", b.told)),
        row("At step", b.step ? n.step(b.step) : ""),
        row("Round", round(b.eye, b.optic, n)),
        row("Tells of", b.reaction ? "the reaction of this case" : ""),
        row("Note", b.note),
        row("What is missing", b.finished ? "is not known, by whoever wrote it" : ""),
      ],
      "danger",
    ),
  "line.amended": (b) =>
    told(b.body === null ? "Withdrawn: it did not happen" : "Amended", [row("Why", b.why)]),
  "case.handed_over": (b) => told(`Handed over to ${b.to}`, [row("Note", b.note)]),
  "case.closed": (b) => told(`Case closed: ${b.outcome}`, [row("Note", b.note)]),
  "device.enrolled": (b) => told("Device enrolled", [row("Label", b.label), row("Site", b.site)]),
  "lines.confirmed": (b) =>
    told(`Written on the locked phone by ${b.by}, as claimed`, [row("Lines", String(b.lines.length))]),
  "person.withdrawn": (b) =>
    told("Person withdrawn", [row("Who", b.person), row("Site", b.site), row("By", b.by), row("Why", b.why)]),
  "person.readmitted": (b) =>
    told("Person let in again", [
      row("Who", b.person),
      row("Site", b.site),
      row("By", b.by),
      row("Why", b.why),
    ]),
  "storage.asked": (b) => told("Lasting storage asked for", [row("Answer", b.answer)]),
  "pack.taken": (b) =>
    told("Pack proved and taken", [row("Pack", b.sha256), row("Vectors", String(b.vectors))]),
  "pack.refused": (b) =>
    told("Pack refused", [row("Pack", b.sha256), row("Faults", b.faults.join("; "))], "caution"),
  "pack.approved": (b) => told("Pack approved", [row("By", b.by), row("Sites", b.sites.join(", "))]),
  "pack.recalled": (b) => told("Pack recalled", [row("By", b.by), row("Why", b.why)], "caution"),
  "case.read": () => told("Case read at the desk"),
  "log.exported": (b) =>
    told("Taken out of the desk", [row("What", b.what), row("Filter", b.query), row("Rows", String(b.rows))]),
  "lines.carried": (b) =>
    told("Lines came by file", [row("Carried by", b.by), row("Lines", String(b.lines))]),
  "data_key.given_back": (b) =>
    told("A phone got the key to its own lines back", [row("Device", b.device)], "caution"),
  "device.withdrawn": (b) => told("Device withdrawn", [row("By", b.by), row("Why", b.why)]),
  "staff.changed": (b) =>
    told(`An account: ${b.what.replaceAll("_", " ")}`, [
      row("Whose", b.staff),
      row("By", b.by),
      row("Role", b.role),
      row("Why", b.why),
    ]),
};

/** `body` null with `known` true: erased. A type this version doesn't know is waiting, and never dropped. */
export function tell(
  type: string,
  known: boolean,
  body: Record<string, unknown> | null,
  names: Names,
): Telling {
  if (!known || !Object.hasOwn(TELLERS, type)) {
    return told(
      `Waiting: “${type}”`,
      [
        [
          "Why",
          "This version does not know this kind of line. It is kept as it came and will be read by a newer one.",
        ],
      ],
      "waiting",
    );
  }
  if (body === null) {
    return told(
      `${sentence(type.replace(".", " "))}: erased`,
      [["Why", "Its content was erased; that it stood here remains."]],
      "waiting",
    );
  }
  const teller = TELLERS[type as keyof BodyOf] as (b: unknown, n: Names) => Telling;
  return teller(body, names);
}
