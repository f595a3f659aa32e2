"""The retina: angles, landmarks, regions and the flat map. Pure functions; both eyes share one frame.

A *viewing direction* (H nasal+, V up+, degrees at the entrance pupil) names a place by the gaze that brings
it to the middle of a frame. Left and right differ only in words and pictures.

- `angles.central_deg(external_deg)`, `angles.external_deg(central_deg)`, `angles.arc_mm(external_deg)`,
  `angles.MODEL`: how far from the optic axis; NaN where no chief ray reaches.
- `projection.direction(h_deg, v_deg)`, `to_place`, `to_direction`, `to_map`, `from_map`, `ring`: direction as
  a unit vector <-> place on the sphere <-> point of the equal-area map (mm, x nasal, y up, fovea at 0, 0).
- `landmarks`: fovea, disc, ora and vortex ampullae with their sources.
- `regions.regions()` -> {id: Region} (`retina`, `posterior_pole`, `midperiphery`, `far_periphery`,
  `seven_fields`), `regions.region_of(id)` (InputError names those known), `regions.custom(id, name, source,
  cones=..., polygon=...)`, `regions.cone(field_deg, h_deg, v_deg)` -> (polygon of the map, error mm^2),
  `regions.seven_standard_fields()` -> seven (30, H, V). A `Region` has `id`, `name`, `source`, `shape` (map
  polygon; its area is retina, mm^2), `area_mm2`, `error_mm2`.
"""
