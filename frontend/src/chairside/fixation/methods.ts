/** Which ways of guiding the gaze are possible for this patient and gaze, and why the others are not. */
import type { FixationChosen, LightRefusal } from "../../types.gen";

export type Method = FixationChosen["method"];

export interface Sight {
  imaged_sees: boolean;
  fellow_sees: boolean;
  squint: boolean;
  drifts: boolean;
}

export interface Offer {
  method: Method;
  why_not: string | null;
  caution: string | null;
}

/** `inside_light` and `light_refused` are the kernel's answers for the gaze in question. */
export function offers(
  sight: Sight,
  reach: { inside_light: boolean; inside_light_deg: number; light_refused: LightRefusal | null },
): Offer[] {
  const inside = !sight.imaged_sees
    ? "The imaged eye does not see the light."
    : !reach.inside_light
      ? `This gaze is beyond the inside light's range (${reach.inside_light_deg}° with this optic).`
      : null;
  const outside = !sight.fellow_sees
    ? "The fellow eye does not see the light."
    : (reach.light_refused?.sentence ?? null);
  return [
    {
      method: "inside",
      why_not: inside,
      caution: sight.drifts ? "The eye drifts: expect to take frames again." : null,
    },
    {
      method: "outside",
      why_not: outside,
      caution: sight.squint
        ? "With a squint the two eyes do not point the same way: trust the image, not the offset."
        : sight.drifts
          ? "The eye drifts: expect to take frames again."
          : null,
    },
    {
      method: "spoken",
      why_not: null,
      caution: "The patient must hear you: keep a hearing aid in, and say one direction at a time.",
    },
  ];
}
