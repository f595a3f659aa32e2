// Bundled by map_side.py and run in the browser: the real map, drawn anew in each frame as if one was taken in each.
import { render } from "preact";
import { fillingOf, type MapField } from "../../frontend/src/chairside/map/filling";
import { RetinaMap } from "../../frontend/src/chairside/map/RetinaMap";
import type { Pack } from "../../frontend/src/types.gen";

const FRAMES = 240;

/** Twelve fields: the centre, and eleven round it. */
function plan(): MapField[] {
  const around = Array.from({ length: 11 }, (_, i): [number, number] => [
    Math.round(30 * Math.cos((i * 2 * Math.PI) / 11)),
    Math.round(24 * Math.sin((i * 2 * Math.PI) / 11)),
  ]);
  return [[0, 0] as [number, number], ...around].map(([h, v], i) => ({
    id: `f${i}`,
    name: `Field ${i + 1}`,
    cone: [50, h, v],
    status: "open",
  }));
}

async function draw(pack: Pack): Promise<{ gaps: number[]; paths: number; changed: boolean }> {
  const { retina, regions } = pack;
  if (retina === null) throw new Error("the pack has no retina");
  const root = document.body.appendChild(document.createElement("div"));
  const all = plan();
  const gaps: number[] = [];
  const show = (step: number): void => {
    const done = step % (all.length + 1);
    const fields = all.map((f, i) => ({ ...f, status: i < done ? "taken" : i === done ? "now" : "open" }) as MapField);
    const taken = fields.filter((f) => f.status === "taken").map((f) => f.cone);
    const { missing } = fillingOf(retina, regions, taken, [], "retina");
    render(
      <RetinaMap pack={{ retina, regions }} eye="right" fields={fields} missing={missing} words={`${done} taken`} numbered />,
      root,
    );
  };
  show(0);
  const before = root.innerHTML;
  let last = await new Promise(requestAnimationFrame);
  for (let step = 1; step <= FRAMES; step++) {
    show(step);
    const now = await new Promise(requestAnimationFrame);
    gaps.push(now - last);
    last = now;
  }
  return { gaps, paths: root.querySelectorAll("path").length, changed: root.innerHTML !== before };
}

Object.assign(globalThis, { mapBench: { draw } });
