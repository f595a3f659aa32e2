"""Fields: what a set of frames shows of the retina.

A field is (field_deg, h_deg, v_deg): the full angle of its cone at the entrance pupil, and the gaze (nasal+,
up+). The same for both eyes.

- `cells.cells(spacing_mm=0.5)` -> `Cells`: the retina as equal-area cells (about 5,200 at 0.5 mm, 1,300 at
  1.0 mm; any spacing). Arrays over cells: `x_mm`, `y_mm` (map), `h_deg`, `v_deg` (viewing direction; NaN
  where no chief ray reaches), `directions` (N, 3), `masks` {region id: bool array}; `area_mm2` of each cell
  (one number), `mask(region)` for a custom `Region`.
- `cells.seen(cells, gaze_deg, field_deg)` -> bool array (N,); `cells.seen_by(cells, fields)` -> (F, N).
- `coverage.coverage(fields, region)` -> `Coverage`: exact areas by polygons of the equal-area map: union,
  fractions with their denominators, overlap of each pair, joins, gaps, stated error.
- `coverage.check_field(field)`: InputError for a field over 200 deg or a gaze beyond the eye's range.
- `phone`: the retina as a pack carries it, and the reference of the phone's own count of cells.
"""
