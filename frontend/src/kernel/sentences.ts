/** The sentences beside the numbers, worded as the reference words them. */
import type {
  FitRequest,
  FitWarning,
  LightRefusal,
  LightRefusalCode,
  Limits,
  NeckLimit,
  Optic,
  Reason,
  WarningCode,
} from "../types.gen";
import { plain } from "./shape";
import type { Question } from "./solve";

const SLACK_DEG = 1e-6;

const LIGHT: Record<LightRefusalCode, string> = {
  too_far_aside: "The light would hang too far aside.",
  hidden_by_nose: "The nose would hide the light.",
  hidden_by_face: "Brow or cheek would hide the light.",
  hidden_by_instrument: "The instrument would hide the light.",
  fellow_eye_does_not_see: "The fellow eye does not see: use the inside light or speak.",
};

export function refused(code: LightRefusalCode): LightRefusal {
  return { code, sentence: LIGHT[code] };
}

export function notComputed(request: FitRequest): Reason {
  return request.age_band === "child"
    ? {
        code: "child_no_computed_turn",
        sentence: "No computed turn for a child: the face tables are of adults. Watch from the side.",
      }
    : {
        code: "unusual_face_no_computed_turn",
        sentence: "No computed turn for this face: the tables do not describe it. Watch from the side.",
      };
}

export function noPose(optic: Optic, neck: NeckLimit, unreachable: boolean, others: string[]): Reason {
  if (unreachable) {
    return {
      code: "eye_cannot_reach_gaze",
      sentence: "The eye cannot turn that far, even with the head turned as far as this neck allows.",
    };
  }
  const instead =
    others.length > 0 ? ` These would fit: ${others.join(", ")}.` : " None of the clinic's optics would fit.";
  const farthest = optic.working_distance_mm + optic.tolerance_mm;
  return {
    code: "no_pose_clears_face",
    sentence:
      `No head position within ${plain(neck.yaw_deg)}° of turn and ${plain(neck.pitch_deg)}° of tip clears` +
      ` the face, even at ${plain(farthest)} mm.${instead}`,
  };
}

/** What is wrong with a given pose, the worst first; null when it holds. */
export function judged(
  q: Question,
  optic: Optic,
  yaw_deg: number,
  pitch_deg: number,
  distance_mm: number,
  h_deg: number,
  v_deg: number,
  clearance_mm: number,
): Reason | null {
  if (clearance_mm < q.margin_mm) {
    return {
      code: "clearance_below_margin",
      sentence: `The gap would be ${clearance_mm.toFixed(1)} mm; the margin is ${plain(q.margin_mm)} mm.`,
    };
  }
  const nominal = optic.working_distance_mm;
  const farthest = nominal + optic.tolerance_mm;
  if (!(distance_mm >= nominal - 1e-9 && distance_mm <= farthest + 1e-9)) {
    return {
      code: "distance_outside_tolerance",
      sentence: `${plain(distance_mm)} mm is outside this optic's ${plain(nominal)} to ${plain(farthest)} mm.`,
    };
  }
  if (
    Math.abs(yaw_deg) > q.yaw_limit_deg + SLACK_DEG ||
    Math.abs(pitch_deg) > q.pitch_limit_deg + SLACK_DEG
  ) {
    return {
      code: "neck_beyond_limit",
      sentence: `This neck may turn ${plain(q.yaw_limit_deg)}° and tip ${plain(q.pitch_limit_deg)}° either way.`,
    };
  }
  if (
    Math.abs(h_deg) > q.stop_side_deg + SLACK_DEG ||
    v_deg > q.stop_up_deg + SLACK_DEG ||
    -v_deg > q.stop_down_deg + SLACK_DEG
  ) {
    return {
      code: "eye_beyond_limit",
      sentence:
        `The eye would turn ${Math.abs(h_deg).toFixed(0)}° aside and ${Math.abs(v_deg).toFixed(0)}°` +
        ` ${v_deg >= 0 ? "up" : "down"}; the limits are ${plain(q.stop_side_deg)}° aside,` +
        ` ${plain(q.stop_up_deg)}° up, ${plain(q.stop_down_deg)}° down.`,
    };
  }
  return null;
}

export function warnings(
  request: FitRequest,
  optic: Optic,
  limits: Limits,
  turn_deg: number,
  distance_mm: number,
  field_deg: number,
  ratio: number,
  forward_clearance_mm: number,
): FitWarning[] {
  const found: FitWarning[] = [];
  const warn = (when: boolean, code: WarningCode, sentence: string): void => {
    if (when) found.push({ code, sentence });
  };
  const [h, v] = request.gaze_deg;
  const seen_mm = request.pupil_mm === null ? null : request.pupil_mm * ratio;
  warn(
    turn_deg > limits.eye_turn.warn_deg,
    "eye_turn_beyond_comfortable",
    `The eye turns ${turn_deg.toFixed(0)}° in its head; above ${plain(limits.eye_turn.warn_deg)}° it tires and drifts back.`,
  );
  warn(request.age_band === null, "age_not_given", "Age not given: the upward limit of the oldest is used.");
  warn(
    typeof request.measures.exophthalmometry === "string",
    "eye_depth_judged",
    "Eye depth was judged, not measured: expect more scatter.",
  );
  warn(
    distance_mm > optic.working_distance_mm + 1e-9,
    "backed_off",
    `Backed off by ${(distance_mm - optic.working_distance_mm).toFixed(1)} mm: at most ${field_deg.toFixed(0)}° of field is left.`,
  );
  warn(
    seen_mm !== null && seen_mm < optic.least_pupil_mm,
    "pupil_narrow",
    `Seen along this gaze the pupil is ${seen_mm?.toFixed(1)} mm across; this optic needs ${plain(optic.least_pupil_mm)} mm.`,
  );
  warn(
    v !== 0,
    "pupil_vertical_gaze",
    "The pupil ratio is for sideways gaze only; looking up or down narrows the pupil too.",
  );
  warn(
    Math.max(Math.abs(h), Math.abs(v)) > optic.inside_light_deg,
    "inside_light_out_of_range",
    `The inside light asks for at most ${plain(optic.inside_light_deg)}° with this optic.`,
  );
  warn(
    forward_clearance_mm < 0,
    "forward_face_touches",
    "On a face whose mid-line stands further forward this pose would touch: watch from the side.",
  );
  return found;
}
