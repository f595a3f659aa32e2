import { describe, expect, it } from "vitest";
import type { CaseState } from "../../log";
import type { FrameTaken, Optic, Pack, PackRegion, PhoneRetina } from "../../types.gen";
import { cellsOfSectors, fieldAngle, fillingOf, sectorShares, sectorStands, takenFields } from "./filling";
import { darkCells, sectorAt } from "./places";
import { cellsPath, mirrored } from "./shapes";

/** A flat, invented retina of 21 x 21 cells, 4 degrees apart: region 0 all of it, 1 and 2 its centre and a ring. */
function invented(): { retina: PhoneRetina; regions: PackRegion[] } {
  const cells: [number, number][] = [];
  for (let row = -10; row <= 10; row++)
    for (let column = -10; column <= 10; column++) cells.push([column, row]);
  const far = ([x, y]: [number, number]): number => Math.hypot(x + 0.5, y + 0.5);
  const bits = (c: [number, number]): number => 1 | (far(c) < 4 ? 2 : far(c) < 8 ? 4 : 8);
  const retina = {
    spacing_mm: 1,
    area_mm2: 1,
    axis_deg: [0, 0],
    step_deg: 1,
    central_deg: [0, 1],
    radius_mm: 11,
    column: cells.map(([x]) => x),
    row: cells.map(([, y]) => y),
    h_deg: cells.map(([x]) => (x + 0.5) * 4),
    v_deg: cells.map(([, y]) => (y + 0.5) * 4),
    region_bits: cells.map(bits),
  } as PhoneRetina;
  const regions = ["retina", "posterior_pole", "midperiphery", "far_periphery"].map(
    (id) => ({ id }) as PackRegion,
  );
  return { retina, regions };
}

const optic = { id: "wide", field_deg: 50 } as Optic;
const frame = (change: Partial<FrameTaken>) => ({
  line: "",
  at: 0,
  device: "",
  body: {
    eye: "right",
    optic: "wide",
    modality: "colour",
    field: "a",
    gaze_deg: [0, 0],
    outcome: "taken",
    ...change,
  } as FrameTaken,
});
const caseOf = (part: Partial<Record<"frames" | "advised" | "plan", unknown>>): CaseState =>
  ({ frames: [], advised: [], plan: { sectors: [] }, ...part }) as unknown as CaseState;
const pack = { optics: [optic] } as Pack;

describe("what has been photographed", () => {
  it("counts only frames that stand as taken: one that turned out bad shows nothing", () => {
    const frames = [frame({}), frame({ field: "b", gaze_deg: [15, 0] }), frame({ outcome: "again" })];
    const found = takenFields(pack, caseOf({ frames }), "right");
    expect(found.map((f) => f.cone)).toEqual([[50, 15, 0]]);
    expect(takenFields(pack, caseOf({ frames }), "left")).toEqual([]);
  });
  it("counts the field that the advice left, where that is less than the handbook's", () => {
    const advised = [
      { body: { eye: "right", optic: "wide", gaze_deg: [0, 0], field_deg: 41 } },
      { body: { eye: "left", optic: "wide", gaze_deg: [0, 0], field_deg: 30 } },
    ];
    expect(fieldAngle(optic, caseOf({ advised }), "right", [0, 0])).toBe(41);
    expect(fieldAngle(optic, caseOf({ advised }), "right", [15, 0])).toBe(50);
  });
  it("says of a region what is shown, what will be and what no field shows", () => {
    const { retina, regions } = invented();
    const filling = fillingOf(retina, regions, [[50, 0, 0]], [[50, 40, 0]], "midperiphery");
    const alone = fillingOf(retina, regions, [[50, 0, 0]], [], "midperiphery");
    const shown = filling.region_fraction.midperiphery as number;
    const planned = filling.planned_fraction.midperiphery as number;
    expect(shown).toBeCloseTo(alone.region_fraction.midperiphery as number, 12);
    expect(planned).toBeGreaterThan(shown);
    const ring = retina.region_bits.filter((b) => b & 4).length;
    const missing = filling.missing.reduce((sum, flag) => sum + flag, 0);
    expect(missing / ring).toBeCloseTo(1 - planned, 12);
    // nothing is missing beside the region
    expect(
      [...filling.missing].every((flag, i) => flag === 0 || ((retina.region_bits[i] as number) & 4) !== 0),
    ).toBe(true);
    expect(filling.area_mm2).toBe(filling.shown.reduce((sum, flag) => sum + flag, 0));
  });
});

describe("sectors", () => {
  it("share out every cell once, mirrored for a left eye", () => {
    const { retina, regions } = invented();
    const right = cellsOfSectors(retina, regions, "right");
    expect([...right.values()].flat().sort((a, b) => a - b)).toEqual(retina.column.map((_, i) => i));
    const left = cellsOfSectors(retina, regions, "left");
    expect(left.get("far-9")).toEqual(right.get("far-3"));
    expect(left.get("centre")).toEqual(right.get("centre"));
  });
  it("are as the frames say until a person says otherwise", () => {
    const { retina, regions } = invented();
    const cells = cellsOfSectors(retina, regions, "right");
    const { shown } = fillingOf(retina, regions, [[50, 0, 0]], [], "retina");
    const sectors = [
      { body: { eye: "right", sector: "centre", state: "dark" } },
      { body: { eye: "left", sector: "mid-3", state: "covered" } },
    ];
    const stands = sectorStands(caseOf({ plan: { sectors } }), "right", sectorShares(cells, shown));
    const of = (id: string) => stands.find((s) => s.sector.id === id);
    expect(of("centre")).toMatchObject({ share: 1, state: "dark", marked: true });
    expect(of("far-3")).toMatchObject({ share: 0, state: "missing", marked: false });
    expect(of("mid-3")?.marked).toBe(false);
    const dark = darkCells(retina, cells, stands);
    expect(dark?.reduce((sum, flag) => sum + flag, 0)).toBe(cells.get("centre")?.length);
    expect(darkCells(retina, cells, [])).toBeNull();
  });
  it("are found under a finger, and not beside the retina", () => {
    const { retina, regions } = invented();
    const cells = cellsOfSectors(retina, regions, "left");
    expect(sectorAt(cells, retina, "left", 0.2, 0.2)).toBe("centre");
    expect(sectorAt(cells, retina, "left", 6.5, 0.1)).toBe("mid-9");
    expect(sectorAt(cells, retina, "left", -9.5, 0.1)).toBe("far-3");
    expect(sectorAt(cells, retina, "left", 90, 0)).toBeNull();
  });
});

describe("cells as one path", () => {
  it("covers as much as the cells do, whichever eye, neighbours joined", () => {
    const { retina } = invented();
    const wanted = Uint8Array.from(retina.column, (c, i) => (Math.abs(c) < 3 && retina.row[i] === 2 ? 1 : 0));
    for (const eye of ["right", "left"] as const) {
      const path = cellsPath(retina, wanted, mirrored(eye));
      const pieces = [...path.matchAll(/M(\S+) (\S+)h(\S+)v([\d.]+)/g)].map((m) => m.slice(1).map(Number));
      expect(pieces).toHaveLength(1);
      expect(pieces[0]).toEqual([eye === "right" ? -2 : -3, -3, 5, 1]);
    }
  });
});
