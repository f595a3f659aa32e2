/**
 * The ways to photograph a region with one optic, for a face like this: the exact plan, the known patterns, a sweep.
 * Everything is looked up in the guidance pack; the kernel is asked anew about each gaze when it is taken.
 */
import type { CaseState, Eye } from "../../log";
import type { FaceMeasured, Field, Modality, Pack, PackChoice, PackPlan, PackSweep } from "../../types.gen";

export const SWEEP = "sweep";

export interface Way {
  /** As it is logged: `plan:REGION`, `ring_of_four:REGION`, `sweep`. */
  id: string;
  name: string;
  region: string | null;
  /** [h, v, field_deg] in the order to take them. */
  fields: readonly (readonly [number, number, number])[];
  region_fraction: number | null;
  least_join_overlap: number | null;
  seconds: number | null;
  /** As much of the region and as well joined as was asked for; null for a sweep, which is asked for nothing. */
  meets: boolean | null;
  /** What is to know of it, each a sentence. */
  says: string[];
}

/** The class of faces that this one falls into, or null while it is not measured. */
export function reachClassOf(pack: Pack, face: FaceMeasured | undefined): string | null {
  if (face === undefined) return null;
  const { deep_set_below_mm, prominent_above_mm } = pack.faces.eye_depth;
  const depth = face.exophthalmometry;
  const judged =
    typeof depth === "string"
      ? depth
      : depth < deep_set_below_mm
        ? "deep-set"
        : depth > prominent_above_mm
          ? "prominent"
          : "average";
  const found = (pack.reach_classes ?? []).find(
    (c) => c.eye_depth === judged && c.nose === face.nose && c.neck === face.neck,
  );
  return found?.id ?? null;
}

type Planned = { optic: string; classes: string[] };
const isFor = (one: Planned, optic: string, reach: string): boolean =>
  one.optic === optic && one.classes.includes(reach);

export function planFor(pack: Pack, reach: string, optic: string, region: string): PackPlan | null {
  return (pack.plans ?? []).find((p) => p.region === region && isFor(p, optic, reach)) ?? null;
}

export function sweepFor(pack: Pack, reach: string, optic: string): PackSweep | null {
  return (pack.sweeps ?? []).find((s) => isFor(s, optic, reach)) ?? null;
}

export function choiceFor(pack: Pack, reach: string, region: string): PackChoice | null {
  return (pack.optic_choices ?? []).find((c) => c.region === region && c.classes.includes(reach)) ?? null;
}

/** Regions that this pack has plans for, in its order. */
export function plannedRegions(pack: Pack): { id: string; text: string }[] {
  return (pack.planning?.regions ?? []).map(({ id }) => ({
    id,
    text: pack.regions.find((r) => r.id === id)?.name ?? id,
  }));
}

/** Plan, patterns and sweep, the plan first. Empty where the pack has none for this class. */
export function waysFor(pack: Pack, reach: string, optic: string, region: string): Way[] {
  const plan = planFor(pack, reach, optic, region);
  const patterns = (pack.patterns ?? []).filter((p) => p.region === region && isFor(p, optic, reach));
  const sweep = sweepFor(pack, reach, optic);
  return [
    ...(plan === null ? [] : [planWay(pack, plan)]),
    ...patterns.map((p): Way => {
      const named = pack.pattern_names.find((n) => n.id === p.id);
      return {
        id: `${p.id}:${region}`,
        name: named?.name ?? p.id,
        region,
        fields: p.fields,
        region_fraction: p.region_fraction,
        least_join_overlap: p.least_join_overlap,
        seconds: p.seconds,
        meets: p.meets,
        says: [
          p.sentence,
          ...(p.as_defined ? [] : ["Not as it is defined: this face or optic does not allow it."]),
        ],
      };
    }),
    ...(sweep === null ? [] : [sweepWay(sweep)]),
  ];
}

/** The model names optics by their ids; people know them by their names. */
export function withNames(optics: Pack["optics"], sentence: string): string {
  const named = (id: string): string => optics.find((o) => o.id === id)?.name ?? id;
  return sentence.replace(/(as asked: )([^.]+)\./, (_, before: string, ids: string) => {
    return `${before}${ids.split(", ").map(named).join(", ")}.`;
  });
}

function planWay(pack: Pack, plan: PackPlan): Way {
  const says = plan.feasible
    ? [
        plan.proved
          ? "No plan has fewer fields: proved."
          : `At least ${plan.lower_bound} fields are needed; fewer than ${plan.count} are not ruled out.`,
      ]
    : [withNames(pack.optics, plan.reason)];
  return {
    id: `plan:${plan.region}`,
    name: plan.feasible ? "Fewest fields" : "As much as can be reached",
    region: plan.region,
    fields: plan.fields,
    region_fraction: plan.region_fraction,
    least_join_overlap: plan.least_join_overlap,
    seconds: plan.seconds,
    meets: plan.feasible,
    says,
  };
}

function sweepWay(sweep: PackSweep): Way {
  const shown = sweep.sectors.filter((s) => s.shown >= 0.5).length;
  const loose = sweep.joined.filter((j) => !j).length;
  return {
    id: SWEEP,
    name: "Sweep with an outside light",
    region: null,
    fields: sweep.fields,
    region_fraction: null,
    least_join_overlap: null,
    seconds: null,
    meets: null,
    says: [
      "From the centre out and round, frame over frame, as far as this face can be turned.",
      `It shows at least half of ${shown} of ${sweep.sectors.length} sectors.`,
      ...(loose > 0 ? [`${loose} of its frames join the one before them by less than was asked.`] : []),
    ],
  };
}

/** The way that was chosen for this eye with this optic, by its id; null where none was. */
export function chosenId(state: CaseState, eye: Eye, optic: string): string | null {
  return (
    state.plan.chosen.filter(({ body }) => body.eye === eye && body.optic === optic).at(-1)?.body.plan ?? null
  );
}

/** A way by its id, for a class and optic; null where the pack has no such way for them. */
export function wayById(pack: Pack, reach: string, optic: string, id: string): Way | null {
  const region = id === SWEEP ? (plannedRegions(pack)[0]?.id ?? "") : (id.split(":")[1] ?? "");
  return waysFor(pack, reach, optic, region).find((w) => w.id === id) ?? null;
}

/** A way's fields as frames to check off, for the panel that takes them one by one. */
export function framesOfWay(way: Way, modality: Modality): Field[] {
  return way.fields.map(([h, v], i) => ({
    id: `${way.id}#${i + 1}`,
    name: `Field ${i + 1} of ${way.fields.length}`,
    gaze_deg: [h, v],
    when: {
      optics: [],
      eyes: [],
      modalities: [modality],
      flags: [],
      without_flags: [],
      cross_sections: null,
      optic_change: null,
      close_optic: null,
      study_eye: null,
    },
  }));
}
