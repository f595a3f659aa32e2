/** The model counts nasal as positive, so that one set of numbers serves both eyes; a person has left and right. */
type Side = "right" | "left";

/** The patient's own side that lies toward the nose of the imaged eye; also that of the fellow eye. */
export function nasalSide(eye: Side): Side {
  return eye === "right" ? "left" : "right";
}

/** The patient's own side of a model angle or distance: nasal, and a yaw toward the fellow eye, are positive. */
export function patientSide(eye: Side, nasal: number): Side {
  return nasal >= 0 ? nasalSide(eye) : eye;
}
