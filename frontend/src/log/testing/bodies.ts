/** Bodies that tests write. */
export const OPENED = {
  code: "T-1",
  eyes: ["right" as const],
  study_eye: null,
  modalities: ["colour" as const],
  cross_sections: false,
  flags: [],
  note: "",
};
