/**
 * The head and the optic from above, to scale, from the model's own shapes. Dragging sideways turns the head: each
 * frame changes a handful of SVG attributes and no layout.
 */
import { type ReadonlySignal, useComputed } from "@preact/signals";
import { useMemo, useRef } from "preact/hooks";
import type { EyeSide, Optic } from "../../types.gen";
import type { Posed } from "./ask";
import {
  type CapsuleRow,
  dragYaw_deg,
  facePaths,
  HEAD_OUTLINE,
  headTransform,
  instrumentPoint,
  mirror,
  mirroredCapsules,
  opticPath,
  opticSlicePath,
} from "./view";
import { gapWords, placeWords } from "./words";

/** What part of the plan is shown, mm: the photographer's side is below, and more of it lies toward the nose. */
const VIEW = { beyond_temple: 70, top: -88, width: 168, height: 134 } as const;
const EYE_RADIUS_MM = 12;
/** Half of the width of a label such as "−12.5 mm". */
const LABEL_HALF_MM = 22;

interface HeadPictureProps {
  eye: EyeSide;
  optic: Optic;
  pd_mm: number;
  margin_mm: number;
  capsules: readonly CapsuleRow[];
  pose: ReadonlySignal<Posed>;
  places: readonly { id: string; text: string }[];
  /** Asked for once a frame while the head is dragged; the head follows what the kernel answers. */
  onYaw: (yaw_deg: number) => void;
}

export function HeadPicture(props: HeadPictureProps) {
  const { eye, optic, pose, pd_mm, capsules, margin_mm } = props;
  const left = eye === "right" ? -VIEW.beyond_temple : VIEW.beyond_temple - VIEW.width;
  const pitch = useComputed(() => pose.value.pitch_deg);
  const own = useComputed(() => facePaths(capsules, pitch.value).join(""));
  const other = useComputed(() => facePaths(mirroredCapsules(capsules, pd_mm), pitch.value).join(""));
  const outline = useMemo(() => opticPath(optic.profile), [optic]);
  const transform = useComputed(() => headTransform(pose.value.head_to_instrument, pose.value.yaw_deg, eye));
  const slice = useComputed(() => opticSlicePath(optic.profile, pose.value.gap?.optic[1] ?? 0));
  const ends = useComputed(() => {
    const points = pose.value.gap;
    if (points === null) return null;
    return { a: instrumentPoint(points.face, eye), b: instrumentPoint(points.optic, eye) };
  });
  const gapPath = useComputed(() => {
    const g = ends.value;
    return g === null
      ? "M0 0"
      : `M${g.a.x.toFixed(2)} ${g.a.y.toFixed(2)}L${g.b.x.toFixed(2)} ${g.b.y.toFixed(2)}`;
  });
  const leader = useComputed(() => {
    const g = ends.value;
    if (g === null) return "M0 0";
    const at = labelPlace(g, left);
    const [x, y] = [(g.a.x + g.b.x) / 2, (g.a.y + g.b.y) / 2];
    const edge = at.x + (at.x > x ? -LABEL_HALF_MM : LABEL_HALF_MM);
    return `M${x.toFixed(2)} ${y.toFixed(2)}L${edge.toFixed(1)} ${(at.y - 4).toFixed(1)}`;
  });
  const labelAt = useComputed(() => {
    const g = ends.value;
    const at = g === null ? { x: 0, y: 0 } : labelPlace(g, left);
    return `translate(${at.x.toFixed(1)} ${at.y.toFixed(1)})`;
  });
  const gapText = useComputed(() => gapWords(pose.value.clearance_mm));
  const look = useComputed(() => {
    const mm = pose.value.clearance_mm;
    return `picture${mm <= 0 ? " picture-touch" : mm < margin_mm - 0.005 ? " picture-under" : ""}`;
  });
  const gaze = useComputed(() => {
    const reach = pose.value.pupil_to_rim_mm + 12;
    const a = (pose.value.gaze_deg[0] * Math.PI) / 180;
    const x = mirror(eye) * Math.sin(a) * reach;
    return `M0 ${-pose.value.pupil_to_rim_mm}L${x.toFixed(2)} ${(Math.cos(a) * reach - pose.value.pupil_to_rim_mm).toFixed(2)}`;
  });
  const spoken = useComputed(
    () =>
      `The head from above, to scale. Nearest gap ${gapText.value}: ${placeWords(pose.value.nearest, props.places).toLowerCase()}.`,
  );

  const grip = useRef<{ id: number; x: number; yaw: number; mmPerPx: number; wanted: number | null } | null>(
    null,
  );
  const skull = { x: pd_mm / 2, y: HEAD_OUTLINE.forehead_before_cornea_mm - HEAD_OUTLINE.length_mm / 2 };
  const brim = VIEW.top + 9;

  return (
    <svg
      class={look}
      viewBox={`${left} ${VIEW.top} ${VIEW.width} ${VIEW.height}`}
      role="img"
      aria-label={spoken}
      onPointerDown={(event) => {
        event.currentTarget.setPointerCapture(event.pointerId);
        const mmPerPx = VIEW.width / event.currentTarget.clientWidth;
        grip.current = {
          id: event.pointerId,
          x: event.clientX,
          yaw: pose.value.yaw_deg,
          mmPerPx,
          wanted: null,
        };
      }}
      onPointerMove={(event) => {
        const held = grip.current;
        if (held === null || held.id !== event.pointerId) return;
        const first = held.wanted === null;
        held.wanted = held.yaw + dragYaw_deg((event.clientX - held.x) * held.mmPerPx, eye);
        // one question a frame, however many moves the screen reports
        if (!first) return;
        requestAnimationFrame(() => {
          if (held.wanted !== null) props.onYaw(held.wanted);
          held.wanted = null;
        });
      }}
      onPointerUp={() => {
        grip.current = null;
      }}
      onPointerCancel={() => {
        grip.current = null;
      }}
    >
      <path class="picture-margin" d={outline} stroke-width={2 * margin_mm} />
      <g transform={transform}>
        <ellipse
          class="picture-skull"
          cx={skull.x}
          cy={skull.y}
          rx={HEAD_OUTLINE.breadth_mm / 2}
          ry={HEAD_OUTLINE.length_mm / 2}
        />
        <path class="picture-other picture-edge" d={other} />
        <path class="picture-other" d={other} />
        <path class="picture-face picture-edge" d={own} />
        <path class="picture-face" d={own} />
        <circle class="picture-eye" cx={pd_mm} cy={-EYE_RADIUS_MM} r={EYE_RADIUS_MM} />
        <circle class="picture-eye picture-eye-imaged" cx="0" cy={-EYE_RADIUS_MM} r={EYE_RADIUS_MM} />
      </g>
      <path class="picture-optic" d={outline} />
      <path class="picture-slice" d={slice} />
      <path class="picture-gaze" d={gaze} />
      <path class="picture-leader" d={leader} />
      <path class="picture-gap" d={gapPath} />
      <g transform={labelAt}>
        <text class="picture-number" text-anchor="middle">
          {gapText}
        </text>
      </g>
      <text class="picture-side" x={left + 2} y={brim}>
        Patient's right
      </text>
      <text class="picture-side" x={left + VIEW.width - 2} y={brim} text-anchor="end">
        Patient's left
      </text>
    </svg>
  );
}

/** Beside the gap, on the outer side of it, and inside the picture. */
function labelPlace(
  g: { a: { x: number; y: number }; b: { x: number; y: number } },
  left: number,
): { x: number; y: number } {
  const x = (g.a.x + g.b.x) / 2;
  const y = (g.a.y + g.b.y) / 2;
  const out = x + (x >= 0 ? 44 : -44);
  return {
    x: Math.min(Math.max(out, left + LABEL_HALF_MM), left + VIEW.width - LABEL_HALF_MM),
    y: Math.min(y + 14, VIEW.top + VIEW.height - 8),
  };
}
