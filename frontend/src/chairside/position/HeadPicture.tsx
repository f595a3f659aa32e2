/**
 * The head and the optic from above, to scale, from the model's own shapes. Dragging sideways turns the head: each
 * frame changes a handful of SVG attributes and no layout.
 */
import { type ReadonlySignal, useComputed } from "@preact/signals";
import { useMemo, useRef } from "preact/hooks";
import type { Optic } from "../../types.gen";
import type { Posed } from "./ask";
import {
  type CapsuleRow,
  dragYaw_deg,
  facePaths,
  HEAD_OUTLINE,
  headPoint,
  headTransform,
  instrumentPoint,
  mirror,
  mirroredCapsules,
  opticPath,
  opticSlicePath,
} from "./view";
import { type EyeSide, millimetres, placeWords } from "./words";

/** What part of the plan is shown, mm: the photographer's side is below. */
const VIEW = { left: -88, top: -104, width: 176, height: 158 } as const;
const EYE_RADIUS_MM = 12;

export interface HeadPictureProps {
  eye: EyeSide;
  optic: Optic;
  pd_mm: number;
  margin_mm: number;
  capsules: readonly CapsuleRow[];
  eye_centre_depth_mm: number;
  pose: ReadonlySignal<Posed>;
  places: readonly { id: string; text: string }[];
  /** Asked for with each frame of a drag; the head follows only what the kernel answers. */
  onYaw: (yaw_deg: number) => void;
  onDragEnd?: () => void;
}

export function HeadPicture(props: HeadPictureProps) {
  const { eye, optic, pose, pd_mm, capsules, margin_mm } = props;
  const svg = useRef<SVGSVGElement>(null);
  const pitch = useComputed(() => pose.value.pitch_deg);
  const own = useComputed(() => facePaths(capsules, pitch.value));
  const other = useComputed(() => facePaths(mirroredCapsules(capsules, pd_mm), pitch.value));
  const outline = useMemo(() => opticPath(optic.profile), [optic]);
  const transform = useComputed(() => headTransform(pose.value.head_to_instrument, pose.value.yaw_deg, eye));
  const slice = useComputed(() => opticSlicePath(optic.profile, pose.value.gap?.optic[1] ?? 0));
  const gap = useComputed(() => {
    const points = pose.value.gap;
    if (points === null) return null;
    return { a: instrumentPoint(points.face, eye), b: instrumentPoint(points.optic, eye) };
  });
  const gapPath = useComputed(() =>
    gap.value === null ? "" : `M${gap.value.a.x} ${gap.value.a.y}L${gap.value.b.x} ${gap.value.b.y}`,
  );
  const labelAt = useComputed(() => {
    const g = gap.value;
    if (g === null) return "translate(0 0)";
    const side = (g.a.x + g.b.x) / 2 >= 0 ? 1 : -1;
    const x = Math.min(Math.max((g.a.x + g.b.x) / 2 + side * 16, -58), 58);
    return `translate(${x.toFixed(1)} ${((g.a.y + g.b.y) / 2 + 14).toFixed(1)})`;
  });
  const gapText = useComputed(() => millimetres(pose.value.clearance_mm));
  const state = useComputed(
    () =>
      `picture ${pose.value.clearance_mm < 0 ? "picture-touch" : pose.value.clearance_mm < margin_mm ? "picture-under" : ""}`,
  );
  const pupil = useComputed(() => {
    // the pupil stands on the instrument's axis in every pose
    const wd = pose.value.pupil_to_rim_mm;
    const a = (pose.value.gaze_deg[0] * Math.PI) / 180;
    const s = mirror(eye);
    return `M0 ${-wd}L${(s * Math.sin(a) * wd * 0.9).toFixed(2)} ${(-wd + Math.cos(a) * wd * 0.9).toFixed(2)}`;
  });
  const spoken = useComputed(
    () =>
      `The head from above, to scale. Nearest gap ${millimetres(pose.value.clearance_mm)} at the ${placeWords(pose.value.nearest, props.places)}.`,
  );

  const held = useRef<{ id: number; x: number; yaw: number; wanted: number | null } | null>(null);
  const toMillimetres = (px: number): number => px * (VIEW.width / (svg.current?.clientWidth || VIEW.width));
  const skull = { x: pd_mm / 2, y: HEAD_OUTLINE.forehead_before_cornea_mm - HEAD_OUTLINE.length_mm / 2 };

  return (
    <svg
      ref={svg}
      class={state}
      viewBox={`${VIEW.left} ${VIEW.top} ${VIEW.width} ${VIEW.height}`}
      role="img"
      aria-label={spoken}
      onPointerDown={(event) => {
        event.currentTarget.setPointerCapture(event.pointerId);
        held.current = { id: event.pointerId, x: event.clientX, yaw: pose.value.yaw_deg, wanted: null };
      }}
      onPointerMove={(event) => {
        const grip = held.current;
        if (grip === null || grip.id !== event.pointerId) return;
        const first = grip.wanted === null;
        grip.wanted = grip.yaw + dragYaw_deg(toMillimetres(event.clientX - grip.x), eye);
        // one question a frame, however many moves the screen reports
        if (first) {
          requestAnimationFrame(() => {
            if (grip.wanted !== null) props.onYaw(grip.wanted);
            grip.wanted = null;
          });
        }
      }}
      onPointerUp={() => {
        if (held.current !== null) props.onDragEnd?.();
        held.current = null;
      }}
      onPointerCancel={() => {
        held.current = null;
      }}
    >
      <path class="picture-margin" d={outline} stroke-width={2 * margin_mm} />
      <line class="picture-axis" x1="0" y1={VIEW.top} x2="0" y2={VIEW.top + VIEW.height} />
      <g transform={transform}>
        <ellipse
          class="picture-skull"
          cx={skull.x}
          cy={skull.y}
          rx={HEAD_OUTLINE.breadth_mm / 2}
          ry={HEAD_OUTLINE.length_mm / 2}
        />
        <circle class="picture-eye" cx={pd_mm} cy={-EYE_RADIUS_MM} r={EYE_RADIUS_MM} />
        <circle class="picture-eye picture-eye-imaged" cx="0" cy={-EYE_RADIUS_MM} r={EYE_RADIUS_MM} />
        <g class="picture-other">{useComputed(() => other.value.map((d, i) => <path key={i} d={d} />))}</g>
        <g class="picture-face">{useComputed(() => own.value.map((d, i) => <path key={i} d={d} />))}</g>
      </g>
      <path class="picture-optic" d={outline} />
      <path class="picture-slice" d={slice} />
      <path class="picture-gaze" d={pupil} />
      <path class="picture-gap" d={gapPath} />
      <g transform={labelAt}>
        <text class="picture-number" text-anchor="middle">
          {gapText}
        </text>
      </g>
      <text class="picture-side" x={VIEW.left + 3} y={VIEW.top + VIEW.height - 4}>
        patient's right
      </text>
      <text
        class="picture-side"
        x={VIEW.left + VIEW.width - 3}
        y={VIEW.top + VIEW.height - 4}
        text-anchor="end"
      >
        patient's left
      </text>
    </svg>
  );
}
