/**
 * The retina laid flat, equal areas of it as equal areas of the picture: outline, regions, fields that are planned,
 * frames that were taken, and what is left. As the photographer faces the eye, and as images of it are looked at.
 */
import "./map.css";
import { useId, useMemo } from "preact/hooks";
import { mapPoint } from "../../kernel";
import type { Eye } from "../../log";
import type { Pack, PhoneRetina } from "../../types.gen";
import type { MapField } from "./filling";
import { cellsPath, fieldPath, mirrored, regionPath, ringPath, viewOf } from "./shapes";

const MARGIN_MM = 2.6;
const FOVEA_MM = 0.5;

export interface RetinaMapProps {
  pack: Pick<Pack, "regions"> & { retina: PhoneRetina };
  eye: Eye;
  fields: readonly MapField[];
  /** A flag for each cell that is asked for and that nothing shows. */
  missing?: Uint8Array | null;
  /** Flags of cells to mark as one that a person named: a sector that is too dark. */
  marked?: Uint8Array | null;
  /** What the picture says, in words, for who does not see it. */
  words: string;
  /** Numbers in the fields, in their order. */
  numbered?: boolean;
  onPlace?: (nasal_mm: number, up_mm: number) => void;
}

export function RetinaMap({ pack, eye, fields, missing, marked, words, numbered, onPlace }: RetinaMapProps) {
  const id = useId();
  const { retina } = pack;
  const turn = mirrored(eye);
  const still = useMemo(() => stillOf(pack, eye), [pack.retina, pack.regions, eye]);
  const gaps = useMemo(() => (missing ? cellsPath(retina, missing, turn) : ""), [retina, missing, eye]);
  const dark = useMemo(() => (marked ? cellsPath(retina, marked, turn) : ""), [retina, marked, eye]);
  const [left, top, width, height] = still.view;
  const right = eye === "right";
  const place = (event: MouseEvent): void => {
    const svg = event.currentTarget as SVGSVGElement;
    const box = svg.getBoundingClientRect();
    const x = left + ((event.clientX - box.left) / box.width) * width;
    const y = top + ((event.clientY - box.top) / box.height) * height;
    onPlace?.(right ? x : -x, -y);
  };
  return (
    <figure class="retina">
      {/* biome-ignore lint/a11y/useKeyWithClickEvents: a tap here is a short way; the buttons beside it do the same */}
      <svg
        class="retina-map"
        viewBox={still.view.map((n) => n.toFixed(2)).join(" ")}
        role="img"
        aria-label={words}
        onClick={onPlace ? place : undefined}
      >
        <defs>
          <clipPath id={`${id}-reach`}>
            <path d={still.reach} />
          </clipPath>
          <pattern
            id={`${id}-gap`}
            width="1.2"
            height="1.2"
            patternUnits="userSpaceOnUse"
            patternTransform="rotate(45)"
          >
            <rect class="retina-gap-line" width="0.3" height="1.2" />
          </pattern>
          <pattern id={`${id}-dark`} width="0.9" height="0.9" patternUnits="userSpaceOnUse">
            <circle class="retina-dark-dot" cx="0.45" cy="0.45" r="0.24" />
          </pattern>
        </defs>
        <path class="retina-ora" d={still.ora} />
        <path class="retina-reach" d={still.reach} />
        <g clip-path={`url(#${id}-reach)`}>
          {fields.map((f) =>
            f.status === "taken" ? (
              <Shape key={f.id} field={f} retina={retina} eye={eye} kind="fill" />
            ) : null,
          )}
          {gaps !== "" && <path d={gaps} fill={`url(#${id}-gap)`} />}
          {dark !== "" && <path d={dark} fill={`url(#${id}-dark)`} />}
          {still.regions.map((d) => (
            <path key={d} class="retina-region" d={d} />
          ))}
          {fields.map((f) => (
            <Shape key={f.id} field={f} retina={retina} eye={eye} kind="line" />
          ))}
        </g>
        <path class="retina-disc" d={still.disc} />
        <path class="retina-fovea" d={`M${-FOVEA_MM} 0H${FOVEA_MM}M0 ${-FOVEA_MM}V${FOVEA_MM}`} />
        {numbered &&
          fields.map((f, i) => {
            const [x, y] = turn(mapPoint(retina, f.cone[1], f.cone[2]));
            return (
              <text key={f.id} class={`retina-number retina-number-${f.status}`} x={x} y={y} dy="0.36em">
                {i + 1}
              </text>
            );
          })}
      </svg>
      <figcaption class="retina-sides t-small">
        <span>{right ? "Temporal" : "Nasal"}</span>
        <span class="quiet">{right ? "Right" : "Left"} eye, up is up</span>
        <span>{right ? "Nasal" : "Temporal"}</span>
      </figcaption>
    </figure>
  );
}

/** What of the picture does not change with the frames. */
function stillOf(pack: RetinaMapProps["pack"], eye: Eye) {
  const { retina, regions } = pack;
  const turn = mirrored(eye);
  return {
    view: viewOf(retina, MARGIN_MM),
    ora: ringPath(retina.ora, turn),
    reach: ringPath(retina.reach, turn),
    disc: ringPath(retina.disc, turn),
    // the whole retina is drawn as its edge, and a clinic's own regions and the fields of a study only when asked for
    regions: regions
      .filter((r) => r.id === "posterior_pole" || r.id === "midperiphery")
      .map((r) => regionPath(r, turn)),
  };
}

/** One field. Its outline is worked out once for its angles. */
function Shape({
  field,
  retina,
  eye,
  kind,
}: {
  field: MapField;
  retina: PhoneRetina;
  eye: Eye;
  kind: "fill" | "line";
}) {
  const [angle, h, v] = field.cone;
  const d = useMemo(() => fieldPath(retina, [angle, h, v], mirrored(eye)), [retina, angle, h, v, eye]);
  return <path class={kind === "fill" ? "retina-shown" : `retina-field retina-${field.status}`} d={d} />;
}
