// Generated from the server's schema by `python -m chinrest.server.typescript`. Do not edit.

export interface AccountRequest {
  role: Role;
  site: string | null;
}

/**
 * Somebody who may sign in. `site`: all that they see and change is of it; null for all sites. `joined`:
 * they have a password. `invited_until`: of an invitation that was not used; it may have run out.
 */
export interface AccountRow {
  id: string;
  name: string;
  role: Role;
  site: string | null;
  made_at: number;
  joined: boolean;
  last_sign_in_at: number | null;
  withdrawn_at: number | null;
  invited_until: number | null;
  second_factor: boolean;
}

/**
 * `state`: open, done, or dropped. `ended_at`, `ended_by` and `note` once it is no longer open;
 * `changed_by`: who gave it another owner or day last.
 */
export interface Action {
  action: string;
  text: string;
  owner: string;
  due: string;
  added_by: string;
  added_at: number;
  state: "done" | "dropped" | "open";
  ended_by: string | null;
  ended_at: number | null;
  note: string;
  changed_by: string | null;
}

export interface ActionAdded {
  incident: string;
  by: string;
  action: string;
  text: string;
  owner: string;
  due: string;
  salt: string;
}

export interface ActionChanged {
  incident: string;
  by: string;
  action: string;
  owner: string;
  due: string;
  why: string;
  salt: string;
}

/** `done` false: it was dropped, for the reason that `note` gives. */
export interface ActionFinished {
  incident: string;
  by: string;
  action: string;
  done: boolean;
  note: string;
  salt: string;
}

/** `owner` is whoever sees to it, in words; `due` an ISO day. */
export interface AddAction {
  seen: number;
  text: string;
  owner: string;
  due: string;
}

/**
 * By how many degrees it was off with one optic, where somebody said so; more is positive. `mean95`:
 * Student's t, of those said; null below 2, or where all said the same. `counts`: [degrees, how many].
 */
export interface AdjustedRow {
  optic: string;
  said: number;
  mean_deg: number;
  mean95: [number, number] | null;
  counts: [number, number][];
}

/** One figure of the pack's source that the offset would change. */
export interface Adopted {
  landmark: Landmark;
  key: string;
  was: [number, number, number];
  becomes: [number, number, number];
}

export type AdultBand = "18-39" | "40-59" | "60-79" | "80-or-more";

/**
 * Poses found with one optic after one of the words was shown (`unsaid`: none). `asked_more` among
 * `poses` is `more`, touches among them `touch`; both null where no pose is on record.
 */
export interface AdviceRow {
  optic: string;
  words: string;
  poses: number;
  as_advised: number;
  asked_more: number;
  asked_less: number;
  not_reached: number;
  touched: number;
  more: Rate | null;
  touch: Rate | null;
}

export type AgeBand = "18-39" | "40-59" | "60-79" | "80-or-more" | "child";

/**
 * A moment at which the seconds were known: the press that began the injection (0), or later the seconds
 * that the team agreed on. `foreign`: read on another phone, whose clocks are not this one's.
 */
export interface Anchor {
  at: number;
  mono: number;
  boot: string;
  seconds: number;
  foreign: boolean;
}

export interface Approval {
  by: string;
  at: number;
  sites: string[];
  note: string;
}

export interface ApproveRequest {
  sites: string[];
  note: string;
}

export interface AskClosing {
  seen: number;
  note: string;
}

/** Rates per procedure. `zones` says whether the zone rules were applied; runs are about the median. */
export interface AttributeChart {
  kind: "p" | "u";
  centre: number;
  median: number;
  points: ChartPoint[];
  zones: boolean;
  runs: Runs | null;
  small_number: string[];
}

/**
 * `last_at`: when the last backup that was read back was made; null where none holds what phones sent.
 * `state`: `old` after `limit_days`; `elsewhere` at a hub, whose phones wait for the hospital's backup.
 */
export interface BackupStanding {
  state: "elsewhere" | "fine" | "never" | "old";
  last_at: number | null;
  limit_days: number;
}

/**
 * The last backup of `server`, made at `made_at` and read back, holds the device's chain up to `seq`,
 * whose envelope has the hash `head_sha256`. `at`: when this was said, so that an older word never stands in
 * for a newer one. `signature`: by the server's key over `backup_text`. Hubs hand it on as it is.
 */
export interface BackupWord {
  server: string;
  epoch: string;
  device: string;
  seq: number;
  head_sha256: string;
  made_at: number;
  at: number;
  signature: string;
}

/**
 * Poses whose class has a predicted chance of touching, on one face, from `from_chance` to `to_chance`.
 *
 * `predicted`: the mean of those chances over the poses. What would have touched lies between `touched`
 * and `touched_or_more`: whoever turned further first may have spared the patient the touch.
 */
export interface Band {
  from_chance: number;
  to_chance: number;
  predicted: number;
  poses: number;
  touched: Rate;
  touched_or_more: Rate;
}

/** Other people's rate, and how ours differs from it (ours less theirs, an exact test). */
export interface BesidePublished {
  published: PublishedRate;
  rate: Rate;
  ours: string;
  comparison: Comparison | null;
}

/**
 * A tombstone, of the case that its envelope names, or of lines that belong to none. `by`: a staff id, or
 * `command`. `rule`: `age` with the `years` in force, or `request`. `bodies`: SHA-256 of each body. An
 * erasure that does not fit one line has several tombstones, known by `erasure`; the first says what the
 * `case` was. `at` and `month`: those of its counts (`tallies`), null where it counted for nothing.
 * `refused`: bodies that were kept aside as refused and went too. `decisions`: of the server's own review
 * lines whose bodies went. `signature`: by the server's key over `tombstone_text`.
 */
export interface BodiesErased {
  by: string;
  rule: "age" | "request";
  years: number | null;
  why: string;
  erasure: string;
  bodies: string[];
  case: ErasedCase | null;
  at: number | null;
  month: string | null;
  tallies: ErasedTally[];
  incidents: ErasedIncident[];
  refused: number;
  signature: string;
  decisions?: ErasedDecision[];
  salt: string;
}

/**
 * A second branch of a device's chain, kept aside: how many lines, from which sequence to which, and when
 * the last of them came.
 */
export interface Branch {
  first_seq: number;
  last_seq: number;
  lines: number;
  last_received_at: number;
}

export type BrowClass = "flat" | "heavy" | "medium";

/**
 * Of one pack: `poses` found straight ahead after a computed turn, of which `corrected` were noted with
 * how many degrees. `adopted`: what the lead would write into `file`, rounded to a tenth of a millimetre;
 * empty where there is no estimate, or where it should not be adopted, and `held_back` says why.
 */
export interface Calibration {
  pack: PackHeld | null;
  packs: PackHeld[];
  poses: number;
  unchanged: number;
  corrected: number;
  faces: FaceReliability[];
  offset: OffsetFit | null;
  file: string;
  adopted: Adopted[];
  held_back: string;
  rules: string[];
  position: number;
  first: string | null;
  last: string | null;
  site: string | null;
}

/** A rounded solid between two landmarks; the radius changes evenly from end to end. */
export interface Capsule {
  start: CapsuleEnd;
  end: CapsuleEnd;
}

/** One end: the landmark, the radius there, and the step from skin point to axis (mm). */
export interface CapsuleEnd {
  landmark: Landmark;
  radius_mm: number;
  inset_mm: [number, number, number];
}

/**
 * What became of a carried file. `stored`, `repeats`, `refused`: numbers of lines. `receipts`: a file for
 * the phone that wrote them, by whatever way it comes back.
 */
export interface Carried {
  device: string;
  label: string;
  stored: number;
  repeats: number;
  refused: number;
  receipts: string;
}

/**
 * `server`: the final server's id. `key`: SHA-256 of its carrying key (SPKI in base64). `file`: a random
 * id. `packing`: how each part was packed before it was sealed.
 */
export interface CarriedHeader {
  record: "carried";
  v: number;
  server: string;
  key: string;
  file: string;
  made_at: number;
  parts: number;
  packing: "" | "gzip";
}

export interface CarriedPart {
  record: "part";
  n: number;
  sealed: string;
}

/** A line of a carried file that the server would not store, and why. It is kept aside there. */
export interface CarriedRefusal {
  id: string | null;
  seq: number | null;
  code: string;
  reason: string;
}

/**
 * The key (SPKI in base64) for which lines are sealed that go to `server` by file. `signature`: by the
 * key that signs that server's receipts, over `chinrest carrying-key SERVER KEY`.
 */
export interface CarryingKey {
  server: string;
  key: string;
  signature: string;
}

export interface CaseClosed {
  outcome: "cancelled" | "completed" | "stopped";
  note?: string;
  salt: string;
}

/** The whole new list of flags (each an id from the pack) and eyes, replacing the earlier one. */
export interface CaseFlagged {
  flags: string[];
  study_eye?: EyeSide | null;
  salt: string;
}

export interface CaseHandedOver {
  to: string;
  note?: string;
  salt: string;
}

/** `code` is the clinic's own case code, never a name. `asked` is what the request asks for. */
export interface CaseOpened {
  code: string;
  eyes: EyeSide[];
  study_eye: EyeSide | null;
  modalities: Modality[];
  cross_sections: boolean;
  flags: string[];
  note?: string;
  salt: string;
}

/** Server's chain: an officer opened this case's timeline. */
export interface CaseRead {
  by: string;
  salt: string;
}

/** This device goes on with a case; `seen` is how many lines of it the device held when it took it. */
export interface CaseTaken {
  seen: number;
  salt: string;
}

/**
 * One check: fields, how many cells they show together, the sum of those cells' places, the fractions;
 * and corners of the first field's outline (map mm), from nasal upward, evenly round.
 */
export interface CellVector {
  fields: [number, number, number][];
  count: number;
  place_sum: number;
  area_mm2: number;
  retina_fraction: number;
  region_fraction: Record<string, number>;
  outline: [number, number][];
}

export interface ChangeAction {
  seen: number;
  owner: string;
  due: string;
  why: string;
}

/** Something of these kinds changed. Which, is asked for. */
export interface Changed {
  kinds: ("devices" | "lines" | "packs" | "reviews")[];
}

/** One period: events per procedure, its limits, and the rules that this point completes. */
export interface ChartPoint {
  rate: number;
  lcl: number;
  ucl: number;
  beyond_limits: boolean;
  rules: ("beyond_3_sigma" | "eight_on_one_side" | "four_of_five_beyond_1_sigma" | "two_of_three_beyond_2_sigma")[];
}

/** `none`: chart name to why it can't be drawn. */
export interface ChartReport {
  of: "event" | "near_miss" | "reaction" | "reaction_oral" | "touch";
  definition: string;
  rules: string[];
  funnel: Funnel | null;
  monthly: Monthly | null;
  gaps: Gaps | null;
  cusum: Cusum | null;
  none: Record<string, string>;
  position: number;
  first: string | null;
  last: string | null;
  site: string | null;
}

/** An answer that can be picked: a flag, a reason, a sign, what bothers, what was done. */
export interface Choice {
  id: string;
  text: string;
  help: string;
}

/**
 * One optic. `possible`: it does all that is asked but for the minutes; else `why_not` says what it
 * does not.
 *
 * `fields`, `seconds` and `coverage` (fraction of the region) are the plan's, at least `lower_bound`
 * fields being needed; `reachable` is what all gazes within reach show. `detail_px_per_deg`; largest head
 * turn, chin and eye turn of the plan (deg); least working distance (mm). `dominated_by`: optics that are
 * no worse in any of these and better in one. `says`: the figures as a sentence; `against`: what another
 * optic would give and take instead, by its id.
 */
export interface ChoiceRow {
  optic: string;
  name: string;
  possible: boolean;
  why_not: string[];
  fields: number;
  lower_bound: number;
  proved: boolean;
  seconds: number;
  coverage: number;
  reachable: number;
  detail_px_per_deg: number;
  cross_sections: boolean;
  modalities: Modality[];
  head_turn_deg: number;
  chin_deg: number;
  eye_turn_deg: number;
  working_distance_mm: number;
  within_minutes: boolean | null;
  dominated_by: string[];
  says: string;
  against: Record<string, string>;
}

/**
 * Every list that is picked from. `flags` are facts of the patient or request; `unusual` are reasons
 * for not computing a turn; `nearest` names where the optic was nearest; `safety_what` the kinds of event.
 */
export interface Choices {
  flags: Choice[];
  unusual: Choice[];
  age_bands: Choice[];
  skip_reasons: Choice[];
  nearest: Choice[];
  frame_again: Choice[];
  bothers: Choice[];
  safety_what: Choice[];
  signs: Choice[];
  safety_done: Choice[];
  told: Choice[];
  harm: Choice[];
  harm_scale: string;
}

/**
 * One optic and kind of face, eye straight ahead. Angles in degrees, lengths in mm; None where no pose is
 * offered, and `reason` says why.
 *
 * `clearance_mm` is on the nominal face, `forward_clearance_mm` on the second one at the same pose.
 * `backed_off_mm`: how far beyond the optic's own working distance. `words_from`: the compiled table, as the
 * phone looks it up, or the chance itself where nothing is compiled yet.
 */
export interface ClassFit {
  optic: string;
  eye_depth: EyeDepthClass;
  nose: NoseClass;
  neck: NeckClass;
  feasible: boolean;
  reason: string;
  yaw_deg: number | null;
  pitch_deg: number | null;
  working_distance_mm: number | null;
  backed_off_mm: number | null;
  clearance_mm: number | null;
  forward_clearance_mm: number | null;
  nearest: Landmark | null;
  field_deg: number | null;
  touch_chance: Record<string, number> | null;
  words: TouchWord | null;
  words_from: "chance" | "table";
}

/**
 * What a judged class stands for: a value, the spread (SD) of people so judged, both mm, and how to
 * judge it.
 *
 * For eye depth the value is an exophthalmometry. For nose and brow it is how far forward of the medium
 * class the nasal root or the brow stands; each landmark follows by its own share (see `Placement`).
 */
export interface ClassValue {
  value_mm: number;
  spread_mm: number;
  meaning: string;
}

/**
 * One scale's class: that of its heaviest placed sign. `class_id` and `class_name` None: no sign is
 * placed in it.
 *
 * `by`: the signs that put it there; `not_placed`: signs seen of which this scale's source says nothing, so
 * that a light class is never read as if they had been weighed.
 */
export interface Classed {
  scale: string;
  scale_name: string;
  version: string;
  class_id: string | null;
  class_name: string | null;
  by: string[];
  not_placed: string[];
}

export interface Classify {
  seen: number;
  harm: Harm | null;
  preventable: "no" | "unclear" | "yes" | null;
  factors: string[];
  reaction: ReactionClass | null;
  note: string;
}

/**
 * The phone can't say how long ago the dye was given: both its clocks failed, or another phone timed it.
 *
 * `wall_s` is by the time of day; `mono_s` by what the app counted, without the gap, so that it is the least
 * that it can be; `agreed_s` is what the team takes it to be at this line, and `by` who said so.
 */
export interface ClockUncertain {
  dye: string;
  wall_s: number;
  mono_s?: number | null;
  agreed_s?: number | null;
  by?: string;
  salt: string;
}

/** An anchor, the readings after it, and what the reference says of the last; as in `ClockAnswer`. */
export interface ClockVector {
  anchor: Anchor;
  readings: Reading[];
  state: "certain" | "uncertain";
  seconds: number | null;
  by: "both" | "mono" | "neither" | "wall";
  wall_s: number;
  mono_s: number;
}

export interface CloseIncident {
  seen: number;
  note: string;
}

/** Who asked for the second look, and who took it (null while nobody has). */
export interface Closing {
  asked_by: string;
  asked_at: number;
  asked_note: string;
  closed_by: string | null;
  closed_at: number | null;
  closed_note: string;
}

/** One person thinks that it can be closed; another takes the second look. */
export interface ClosingAsked {
  incident: string;
  by: string;
  note: string;
  salt: string;
}

/**
 * What discomfort is counted by; the angles are comfortable limits.
 *
 * Discomfort = yaw_weight (yaw / yaw_deg)^2 + pitch_weight (pitch / pitch_deg)^2
 * + eye_weight (eye turn / eye_deg)^2, the eye turn being the whole angle from straight ahead.
 */
export interface Comfort {
  yaw_deg: number;
  pitch_deg: number;
  eye_deg: number;
  yaw_weight: number;
  pitch_weight: number;
  eye_weight: number;
}

/** 0 (comfortable) to 10 (as bad as can be), and what bothers (ids from the pack). */
export interface ComfortNoted {
  score: number;
  bothers: string[];
  note?: string;
  salt: string;
}

/**
 * A frame that is still to be taken. Seconds from now: `move_s` to begin the moves to it, `begin_s` to
 * begin it, `shut_s` until it can no longer be begun.
 */
export interface Coming {
  id: string;
  move_s: number;
  begin_s: number;
  shut_s: number;
}

export interface Comment {
  line: string;
  by: string;
  at: number;
  text: string;
}

export interface CommentOn {
  text: string;
}

/**
 * First rate less second rate, as proportions (-1 to 1), with its 95 % interval and the exact test's P.
 *
 * `p_two_sided`: Fisher's exact test, the sum over all tables with these margins that are no likelier than
 * the one seen. Other exact tests exist and may fall on the other side of any threshold: this one is fixed
 * in advance. `difference95`: method 10 of Newcombe 1998, Stat Med 17:873, from the two Wilson intervals.
 * The two answer by different methods, so near P = 0.05 one may include no difference and the other not.
 */
export interface Comparison {
  difference: number;
  difference95: [number, number];
  p_two_sided: number;
}

/**
 * `pieces` plans were worked out so far, of `most` that could have to be; those that are known are not.
 * `doing`: the one that is worked out now.
 */
export interface CompileJob {
  draft: string;
  number: number;
  state: "done" | "failed" | "running";
  pieces: number;
  most: number;
  doing: string;
  started_at: number;
  ended_at: number | null;
  pack: string | null;
  why: string;
}

export interface CompileRequest {
  seen: number;
}

/**
 * All that is given must hold. A list holds when any of it does. Empty means always.
 *
 * `flags`: any of these flags is set on the case; `without_flags`: none of these is.
 * `optic_change`: for the round of one optic, true when another optic was on before it in this case; false
 * when it is the first. `close_optic`: its working distance is at or below thresholds' `close_optic_mm`.
 * `study_eye`: true when this round's eye is the study eye, or none is named; false for the fellow eye.
 * `modalities` and `cross_sections` are of what the case asks for.
 */
export interface Condition {
  optics: string[];
  eyes: EyeSide[];
  modalities: Modality[];
  flags: string[];
  without_flags: string[];
  cross_sections: boolean | null;
  optic_change: boolean | null;
  close_optic: boolean | null;
  study_eye: boolean | null;
}

export interface ConfirmRequest {
  code: string;
}

/** An emergency contact of one site (or every site when `site` is empty). */
export interface Contact {
  site: string;
  name: string;
  phone: string;
  note: string;
}

export interface CountRow {
  key: string;
  sub: string;
  n: number;
}

/** `windows_unread`: cases with a series whose pack is not here, so that nobody knows its windows. */
export interface CraftReport {
  visits: number;
  comfort: ScoreRow[];
  by_turn: ScoreRow[];
  by_depth: ScoreRow[];
  by_minutes: ScoreRow[];
  advice: AdviceRow[];
  adjusted: AdjustedRow[];
  again: CountRow[];
  skipped: CountRow[];
  stages: StageRow[];
  windows: WindowRow[];
  windows_unread: number;
  rules: string[];
  position: number;
  first: string | null;
  last: string | null;
  site: string | null;
}

/**
 * Met where at least one sign is seen in each of at least `least` of the `groups` (lists of sign ids).
 *
 * A further sign can only meet more of them: a criterion escalates and never takes back. `text` is said
 * when met.
 */
export interface Criterion {
  id: string;
  text: string;
  groups: string[][];
  least: number;
  source: string;
}

/**
 * `points`: [procedure, highest sum in its stretch], from 1; stretches keep a long path small. `signals`:
 * procedures at which the threshold was reached.
 */
export interface Cusum {
  plan: CusumPlan;
  procedures: number;
  points: [number, number][];
  signals: number[];
}

/**
 * Fixed before looking: rates as proportions, threshold in units of log likelihood.
 *
 * `arl_in` and `arl_out`: mean number of procedures from 0 to the threshold at each rate. At `rate_in` that
 * is the time between false alarms.
 */
export interface CusumPlan {
  rate_in: number;
  rate_out: number;
  threshold: number;
  step_without: number;
  step_with: number;
  arl_in: number;
  arl_out: number;
}

/** Server's chain: a phone that nobody could unlock was enrolled anew and got the key to its own lines. */
export interface DataKeyGivenBack {
  device: string;
  salt: string;
}

/** A decision of the server beyond, by its word: its `number` within an `epoch`, and its time (ms). */
export interface DecidedBeyond {
  epoch: string;
  number: number;
  at: number;
}

export interface DeviceAwaited {
  label: string;
  site: string;
  last_heard_at: number | null;
  waiting: number | null;
}

/** First line of each device: its public signing key (SPKI, base64) and label. */
export interface DeviceEnrolled {
  public_key: string;
  label: string;
  site: string;
  salt: string;
}

export interface DeviceRow {
  id: string;
  label: string;
  site: string;
  enrolled_at: number;
  last_heard_at: number | null;
  waiting: number | null;
  clock_offset_ms: number | null;
  pack: string | null;
  app: string | null;
  withdrawn: boolean;
  refused: number;
  gaps: [number, number][];
  branch: Branch | null;
}

/** Server's chain. */
export interface DeviceWithdrawn {
  withdrawn: string;
  by: string;
  why: string;
  salt: string;
}

/**
 * `sentence` in words: what it is about (`subject`), which `part` of it, how it `was` and is `now`.
 * `key`: its address in the pack, empty for what is computed of several.
 */
export interface Difference {
  kind: "added" | "changed" | "moved" | "removed";
  key: string;
  subject: string;
  part: string;
  was: string;
  now: string;
  less_careful: boolean;
  sentence: string;
}

export interface DifferenceGroup {
  id: string;
  title: string;
  differences: Difference[];
}

/**
 * Under a `stop` every amount is None.
 *
 * `dose_mg` follows from the rule, after its cap; `volume_ml` is that in the concentration, rounded once;
 * `drawn_mg` is what the rounded volume holds. `capped`: the rule's own cap took hold. `per_kg`: `dose_mg`
 * per kg of this patient, to three decimals; `total_mg` and `total_per_kg` the same with the other dye's
 * dose added.
 * `working`: one line for a second person to follow.
 */
export interface Dose {
  dye: string;
  name: string;
  dose_mg: string | null;
  volume_ml: string | null;
  drawn_mg: string | null;
  concentration_mg_ml: string | null;
  capped: boolean;
  per_kg: string | null;
  with_dye: string | null;
  total_mg: string | null;
  total_per_kg: string | null;
  working: string | null;
  flush_ml: string | null;
  use_by_h: string | null;
  arm_to_eye_s: [number, number] | null;
  stop: DoseStop | null;
  approved_by: string;
  approved_on: string;
  valid_until: string;
  cautions: string[];
  caution: string;
}

/**
 * A second person worked it through by themselves. `agrees` false stops the injection until reworked.
 *
 * `what`: the phone's working was checked; or the physician's own order, where the clinic's dose rules are
 * not for this patient. Then `note` holds the order as it was said aloud, and who gave it. `worked_by`:
 * whose working it was, never the same person. `dose_line` and `volume_ml`: the line of the dose that was
 * compared, and its volume; agreeing counts for that dose alone. `own_volume_ml`: their own figure, entered
 * before the phone showed its; null where they worked it by hand and compared on sight.
 */
export interface DoseChecked {
  dye: string;
  by: string;
  role: string;
  agrees: boolean;
  note?: string;
  what?: "order" | "working";
  worked_by?: string;
  dose_line?: string | null;
  volume_ml?: string | null;
  own_volume_ml?: string | null;
  salt: string;
}

/**
 * `weight_kg` as it was typed; empty where none is known (enough for a fixed dose without a ceiling per
 * kg).
 *
 * `band`: id of an age band of the pack's weights, or empty. `weight_confirmed`: somebody has answered that
 * an unusual weight is right and in kilograms. `concentration_mg_ml`: empty takes the pack's default,
 * where it has one.
 * `with_dye`: the other dye of this visit, or empty. `made_up_min`: minutes since the dye was made up,
 * None where it comes ready or nobody knows. `on`: today's date, YYYY-MM-DD.
 */
export interface DoseRequest {
  dye: string;
  on: string;
  weight_kg: string;
  band: string;
  weight_confirmed: boolean;
  concentration_mg_ml: string;
  with_dye: string;
  made_up_min: number | null;
}

/** Why no dose is shown. `weight_unlikely` asks: the same request with `weight_confirmed` goes on. */
export interface DoseStop {
  code: "not_approved" | "not_below_per_kg" | "not_below_total" | "not_yet_valid" | "out_of_date" | "past_use_by" | "too_small" | "weight_unlikely";
  reason: string;
}

/**
 * One question and what of the answer is worked out (as in `Dose`), or the (field, why) of the
 * refusal.
 */
export interface DoseVector {
  request: DoseRequest;
  dose_mg: string | null;
  volume_ml: string | null;
  drawn_mg: string | null;
  capped: boolean;
  per_kg: string | null;
  total_per_kg: string | null;
  working: string | null;
  stop: DoseStop | null;
  refused: [string, string] | null;
}

/**
 * The arithmetic as it was shown. Amounts are decimals as text, exactly as worked.
 *
 * `working` is the line that a second person can follow. `with_dye` is the other dye whose mass was added
 * for the cap on both. Null weight where the pack's rule is a fixed dose. `made_up_min`: whole minutes from
 * when the dye was made up to this line; null where it comes ready, or nobody said.
 */
export interface DoseWorked {
  dye: string;
  weight_kg: string | null;
  concentration_mg_ml: string;
  dose_mg: string;
  volume_ml: string;
  capped: boolean;
  working: string;
  with_dye?: string | null;
  made_up_min?: number | null;
  salt: string;
}

/**
 * What holds for all dyes. `ask_below_kg`, `ask_above_kg`: usual weights where no age band is given.
 *
 * `keep_total_below_mg_per_kg`: all dyes of one visit together, empty where the clinic has no such rule.
 * `caution` is shown with every dose. `checker_roles`: who may be the second person.
 * `releaser_roles`: licensed persons who may release a stop, or decide what an answer leaves to the
 * physician. The two differ: whoever can check arithmetic may not be allowed to pass a contraindication.
 */
export interface Dosing {
  caution: string;
  ask_below_kg: string;
  ask_above_kg: string;
  keep_total_below_mg_per_kg: string;
  weights: WeightBand[];
  checker_roles: string[];
  releaser_roles: string[];
  source: string[];
}

/**
 * A draft as its last save has it, checked. `saves`: the newest first. `job`: of its last compiling since
 * the server started.
 */
export interface Draft {
  draft: string;
  base: string;
  number: number;
  saves: SaveRow[];
  tables: Record<string, Record<string, unknown>>;
  faults: PackFault[];
  job: CompileJob | null;
}

/**
 * `seen`: the number of the save that is changed. `value` takes the place of the table at the top of
 * `file`, or of the entry `index` of its list `key`; it is added without `index`, before the entry `to`.
 * Without `value` the entry is moved to the place `to`, or removed.
 */
export interface DraftChange {
  seen: number;
  file: string;
  key: string;
  index: number | null;
  value: Record<string, unknown> | null;
  to: number | null;
}

/** `base`: the pack to begin from. */
export interface DraftRequest {
  base: string;
}

export interface DraftRow {
  draft: string;
  base: string;
  last: SaveRow;
}

/**
 * A region of the clinic's own: the union of `cones` (full angle, gaze H, V; degrees) and of the polygon
 * whose corners are gazes H, V. Nasal and up are positive, so that it serves both eyes.
 */
export interface DrawnRegion {
  id: string;
  name: string;
  source: string;
  cones: [number, number, number][];
  polygon: [number, number][];
}

/**
 * What the rule would erase now: `bodies` of so many `cases`, `loose` lines of none, `words` of the
 * desk's own, `refused` that were kept aside. `open_review`, `not_passed_on`, `not_folded`: how many cases,
 * and devices' lines of none, stay for that reason. `oldest_at`: when the first of all these came.
 */
export interface DueAtSite {
  site: string;
  site_name: string;
  cases: number;
  bodies: number;
  loose: number;
  words: number;
  refused: number;
  oldest_at: number;
  open_review: number;
  not_passed_on: number;
  not_folded: number;
}

/** `before`: what came last before this moment is due; null where no rule says so. */
export interface DueNow {
  before: number | null;
  sites: DueAtSite[];
}

/**
 * One dye as this clinic gives it: a generic name, and one rule.
 *
 * `rule`: `per_kg` multiplies `per_kg_mg` by the weight and stops rising at `cap_mg`; `fixed` gives
 * `fixed_mg`.
 * `keep_below_mg_per_kg`: a dose that is not below this much per kg of this patient is not shown at all.
 * `concentrations_mg_ml`: what the clinic stocks or makes up; `default_concentration_mg_ml` empty means that
 * it must be said each time. The volume is rounded once, at the end, to `rounding_step_ml`: `nearest`
 * (halves up, but never past a ceiling) or `down`. `flush_ml` of saline follows. `use_by_h`: hours after
 * it was made up, empty where it comes ready. `arm_to_eye_s`: when the dye is first expected in the eye,
 * seconds after injection, (from, to). Not approved, or out of its dates (`approved_on` to `valid_until`,
 * both inclusive, YYYY-MM-DD): nothing is shown. `source` names what each figure is taken from.
 */
export interface Dye {
  id: string;
  name: string;
  modality: Modality;
  routes: string[];
  rule: "fixed" | "per_kg";
  per_kg_mg: string;
  fixed_mg: string;
  cap_mg: string;
  keep_below_mg_per_kg: string;
  concentrations_mg_ml: string[];
  default_concentration_mg_ml: string;
  rounding_step_ml: string;
  rounding: "down" | "nearest";
  flush_ml: string;
  use_by_h: string;
  arm_to_eye_s: [number, number];
  approved_by: string;
  approved_on: string;
  valid_until: string;
  cautions: string[];
  source: string[];
}

/** The saline after the bolus is in. */
export interface DyeFlushed {
  dye: string;
  salt: string;
}

/**
 * The zero of this dye's clock.
 *
 * `pressed_at` (wall clock, ms since the epoch) and `pressed_mono` (monotonic, ms since the start that the
 * envelope's `boot` names) are of when the press began, not of when it had been held long enough.
 */
export interface DyeInjected {
  dye: string;
  arm: EyeSide | null;
  route: string;
  pressed_at: number;
  pressed_mono: number;
  salt: string;
}

/** The visit goes on without these dyes; what was asked for stays as it was asked. `why` in words. */
export interface DyeLeftOut {
  modalities: Modality[];
  why: string;
  question?: string | null;
  step?: string | null;
  salt: string;
}

/** The clinic's own page. `first` is what the way out opens with. */
export interface Emergency {
  first: string[];
  contacts: Contact[];
  kit: string;
  local_steps: string[];
  caution: string;
}

/**
 * `token` is shown once and stored only as a hash. Sent later as `Authorization: Bearer TOKEN`.
 * `server_key` (SPKI in base64) is the one that signs receipts. `final_key`: at a hub, that of the server it
 * relays to, empty before their first contact. `carrying_key`: for which lines are sealed that go to the
 * final server by file; null at a hub that does not know it. `data_key`: what `escrow` held (base64); empty
 * where none was sent. `send_token`: whether a token that may only send was taken.
 */
export interface EnrolAnswer {
  token: string;
  site: string;
  site_name: string;
  server: string;
  epoch: string;
  demo: boolean;
  server_key: string;
  final_key: string;
  carrying_key: CarryingKey | null;
  data_key: string;
  send_token: boolean;
}

/**
 * `public_key` is SPKI in base64; `device` a UUID that the phone made. `escrow`: the phone's own data
 * key, sealed for the server, where nobody can unlock the phone any more. `send_token_sha256`: of the token
 * that may only send, which a phone with PINs made. `proof`: the device's signature over `chinrest enrol
 * CODE DEVICE`; a device that is known here is enrolled anew by it alone, since its id and its public key
 * are no secret.
 */
export interface EnrolRequest {
  code: string;
  device: string;
  public_key: string;
  label: string;
  escrow: string;
  send_token_sha256: string;
  proof: string;
}

/** `code` is shown once; `url` carries it in its fragment, which no server log sees. */
export interface EnrolmentCode {
  code: string;
  expires_at: number;
  url: string;
}

export interface EnrolmentCodeRequest {
  site: string;
  label: string;
}

/**
 * What every line says of itself. Unknown fields of later versions are kept, since the bytes are.
 *
 * id           UUIDv7 made on the device; the server's primary key
 * device       the device's id (a UUID); the server itself writes as a device too
 * seq          from 1, no gaps
 * prev         SHA-256 (hex) of the device's previous envelope bytes; 64 zeros before the first
 * body_sha256  SHA-256 (hex) of the body's bytes
 * at           the device's wall clock, ms since 1970
 * mono         ms since the app's start, which no clock change moves
 * boot         random id of that start, so that `mono` values are only compared within one
 * actor        who says that they did it (a staff id, or initials), as claimed
 * case         random id of the case, or null for what belongs to none; never a person
 * practice     true for a practice case: never counted
 * pack         SHA-256 (hex) of the guidance pack in use, or null
 * type         the event type
 * v            the line format's version
 * after        where the device's clock is behind what it had read of the case: the time (ms) of the
 * latest line of the case that it held. Whatever `at` says, this line comes after that
 */
export interface Envelope {
  id: string;
  device: string;
  seq: number;
  prev: string;
  body_sha256: string;
  at: number;
  mono: number;
  boot: string;
  actor: string | null;
  case: string | null;
  practice: boolean;
  pack: string | null;
  type: string;
  v?: number;
  after?: number | null;
}

/** The case as it stood, without its code. */
export interface ErasedCase {
  site: string;
  opened: boolean;
  outcome: string | null;
  practice: boolean;
}

/**
 * What a line of an incident's review decided: its own id, its type, and its body with the words taken
 * out.
 */
export interface ErasedDecision {
  line: string;
  type: string;
  body: Record<string, unknown>;
}

/** An incident as it stood, without its note; see `chinrest.log.incidents.IncidentFact`. */
export interface ErasedIncident {
  line: string;
  site: string;
  device: string;
  at: number;
  received_at: number;
  what: string;
  reached_patient: boolean | null;
  harm: Harm | null;
  near_miss: boolean;
  practice: boolean;
  optic: string | null;
  amended: boolean;
  withdrawn: boolean;
  after_closing: boolean;
  pack: string | null;
  seen: ReactionSeen | null;
  again: boolean;
}

export type ErasedTally = [string, string, string, number];

/**
 * One erasure. `tombstones`: their ids in the server's chain. `case`: null where what went belongs to
 * none (`loose`), or who asks reads no case. `bodies` that went, but for `words`, of the desk's own review
 * lines; `refused`: kept aside.
 */
export interface ErasureRow {
  at: number;
  by: string;
  rule: "age" | "request";
  years: number | null;
  why: string;
  case: string | null;
  loose: boolean;
  bodies: number;
  words: number;
  refused: number;
  tombstones: string[];
}

/**
 * Distances in the eye, mm, in the head frame of primary gaze.
 *
 * Head frame: origin at the corneal apex, x nasal, y up, z forward.
 *
 * Entrance pupil: 3.04 mm behind the cornea, paraxial entrance pupil of the wide-angle schematic eye of
 * Escudero-Sanz & Navarro 1999 (JOSA A 16:1881) traced at 543 nm; Le Grand's eye gives 3.038.
 * Rotation centres: Fry & Hill 1962, 1963 (Optom Vis Sci 39:581, 40:707), horizontal 14.8 behind the cornea
 * and 0.79 nasal of the visual axis, vertical 12.2 behind and 0.33 up; as quoted in a public eye-model code.
 */
export interface Eye {
  pupil_depth_mm: number;
  horizontal_centre_depth_mm: number;
  horizontal_centre_nasal_mm: number;
  vertical_centre_depth_mm: number;
  vertical_centre_up_mm: number;
}

/**
 * Exophthalmometry in mm: the reference, the cut-offs between judged classes, the error of a
 * measurement.
 */
export interface EyeDepth {
  reference_mm: number;
  deep_set_below_mm: number;
  prominent_above_mm: number;
  measured_spread_mm: number;
  classes: Record<EyeDepthClass, ClassValue>;
}

export type EyeDepthClass = "average" | "deep-set" | "prominent";

/**
 * Eye-in-head turn, degrees: warn above `warn_deg`, stop at the others; upward is shortest, and by
 * age.
 */
export interface EyeLimits {
  warn_deg: number;
  stop_side_deg: number;
  stop_down_deg: number;
  stop_up_deg: Record<AdultBand, number>;
}

export type EyeSide = "left" | "right";

/** A whole face under one anchor for how far the mid-line stands before the cornea. */
export interface Face {
  summary: string;
  landmarks: Record<Landmark, Placement>;
}

/** `exophthalmometry` in mm, or the class as judged. `unusual` names why no turn may be computed. */
export interface FaceMeasured {
  eye: EyeSide;
  pd_mm: number;
  exophthalmometry: number | EyeDepthClass;
  nose: NoseClass;
  brow: BrowClass;
  neck: NeckClass;
  age_band: string;
  unusual?: string | null;
  salt: string;
}

/**
 * What is measured or judged at the chin rest.
 *
 * Interpupillary distance in mm; exophthalmometry in mm or as a judged class.
 */
export interface FaceMeasures {
  pd_mm: number;
  exophthalmometry: number | EyeDepthClass;
  nose: NoseClass;
  brow: BrowClass;
  neck: NeckClass;
}

export type FaceName = "forward" | "nominal";

export interface FaceReliability {
  face: FaceName;
  summary: string;
  bands: Band[];
}

/**
 * Everything the model knows of faces.
 *
 * The two faces are never pooled: their difference is bias, not scatter.
 */
export interface FaceTables {
  summary: string;
  pd_reference_mm: number;
  pd_range: MeasureRange;
  pd_measured_spread_mm: number;
  exophthalmometry_range: MeasureRange;
  eye_depth: EyeDepth;
  nose_classes: Record<NoseClass, ClassValue>;
  brow_classes: Record<BrowClass, ClassValue>;
  nominal: Face;
  forward: Face;
  capsules: Capsule[];
  sources: string[];
}

/** The one error shape: what went wrong (code), where (a field, header or path) and why, in words. */
export interface Fault {
  code: string;
  where: string;
  why: string;
}

/** A frame to take: where the eye looks (nasal+, up+), for which modalities, with which optics. */
export interface Field {
  id: string;
  name: string;
  gaze_deg: [number, number];
  when: Condition;
}

/**
 * `fields` in the order to take them. Of gazes on the planner's grid no fewer than `lower_bound` can do
 * it (counted on cells); `proved`: the plan has that many. `region_fraction` and `least_join_overlap` are
 * measured on the outlines.
 *
 * `feasible`: the region is shown as asked. Where it is not, `reason` says why, `reachable_fraction` how
 * much all reachable gazes show together, the fields show nearly all of that, `gaps` are what none shows.
 * `poses`: yaw, pitch and eye-in-head [h, v] in degrees and working distance in mm for each field.
 * `discomfort_proved`: their total discomfort is within two per cent of the least for this many fields.
 */
export interface FieldPlan {
  optic: string;
  eye: EyeSide;
  region: string;
  asked: PlanAsked;
  feasible: boolean;
  reason: PlanReason | null;
  fields: [number, number, number][];
  poses: Stop[];
  count: number;
  lower_bound: number;
  proved: boolean;
  region_fraction: number;
  reachable_fraction: number;
  least_join_overlap: number | null;
  seconds: number;
  moves: number;
  turns: number;
  discomfort: number;
  discomfort_proved: boolean;
  gaps: Gap[];
  other_optics: string[];
  face: string;
}

/** A final server's receipt as others pass it on: what was signed, whole, with KIND `final`. */
export interface FinalReceipt {
  server: string;
  epoch: string;
  device: string;
  seq: number;
  head_sha256: string;
  at: number;
  signature: string;
}

export interface FinishAction {
  seen: number;
  done: boolean;
  note: string;
}

/**
 * One question: this optic, eye, face and gaze (H nasal+, V up+, degrees, from the instrument's axis).
 *
 * With `at_deg` (yaw, pitch) that pose is evaluated instead of solved for, at `at_distance_mm` (None:
 * nominal). Distances and pupil in mm, `target_cm` the distance of the outside light (None: the clinic's).
 */
export interface FitRequest {
  optic: string;
  eye: EyeSide;
  measures: FaceMeasures;
  gaze_deg: [number, number];
  pupil_mm: number | null;
  age_band: AgeBand | null;
  unusual_face: boolean;
  fellow_eye_sees: boolean;
  target_cm: number | null;
  at_deg: [number, number] | null;
  at_distance_mm: number | null;
}

/**
 * The answer; these are the keys that the command line prints as JSON. Angles in degrees, lengths in mm.
 *
 * When no pose is offered, every pose key is None, and `capsules` and `optic_profile` still stand. When a
 * given pose was evaluated (`at_deg`), pose keys always stand and `feasible` with `reason` judge it.
 */
export interface FitResult {
  optic: string;
  eye: EyeSide;
  feasible: boolean;
  reason: Reason | null;
  yaw_deg: number | null;
  pitch_deg: number | null;
  working_distance_mm: number | null;
  clearance_mm: number | null;
  forward_clearance_mm: number | null;
  margin_mm: number;
  nearest: Landmark | null;
  field_deg: number | null;
  eye_in_head_deg: [number, number] | null;
  discomfort: number | null;
  touch_chance: Record<string, number> | null;
  words: TouchWord | null;
  pupil_ratio: number;
  inside_light: boolean;
  outside_light_cm: [number, number] | null;
  outside_light_refused: LightRefusal | null;
  warnings: FitWarning[];
  other_optics: string[];
  capsules: [number, number, number, number, number, number, number, number][];
  optic_profile: [number, number][];
  head_to_instrument: number[][] | null;
}

/** One question and what the reference answers (angles in degrees, lengths in mm, as in `FitResult`). */
export interface FitVector {
  request: FitRequest;
  feasible: boolean;
  reason: ReasonCode | null;
  yaw_deg: number | null;
  pitch_deg: number | null;
  working_distance_mm: number | null;
  clearance_mm: number | null;
  nearest: Landmark | null;
  field_deg: number | null;
  eye_in_head_deg: [number, number] | null;
  discomfort: number | null;
  outside_light_cm: [number, number] | null;
  outside_light_refused: LightRefusalCode | null;
}

/** Something to know beside the answer. */
export interface FitWarning {
  code: WarningCode;
  sentence: string;
}

/** What each eye can do, and how it is guided. */
export interface FixationChosen {
  eye: EyeSide;
  method: "inside" | "outside" | "spoken";
  imaged_sees: boolean;
  fellow_sees: boolean;
  squint?: boolean;
  drifts?: boolean;
  salt: string;
}

/**
 * A table of a file. `file` may end in a slash: then each file of that folder is such a table. `key`:
 * the list whose entries are such tables, empty where the file's top is one. `kept`: lists at the file's top
 * that the form does not hold. `schema`: JSON Schema of one table, with a title for each key.
 */
export interface Form {
  id: string;
  title: string;
  file: string;
  key: string;
  kept: string[];
  schema: Record<string, unknown>;
}

export interface Forms {
  forms: Form[];
}

/**
 * `outcome`: taken, again (with why), or missed. `field` is the pack's field id, or free.
 *
 * In a timed series `series_frame` is the layout's frame, `dye_s` when it was shot or given up, in seconds
 * since the injection; `burst` is the line that began the burst which it was taken in.
 */
export interface FrameTaken {
  eye: EyeSide;
  optic: string;
  modality: Modality;
  field: string;
  gaze_deg: [number, number];
  outcome: "again" | "missed" | "taken";
  reason?: string;
  series_frame?: string | null;
  dye_s?: number | null;
  burst?: string | null;
  salt: string;
}

/**
 * `target`: all sites together, as a proportion. `curve`: the limits over the range of procedures.
 * `false_flag`: the chance that at least one site lies outside the 95 % limits though all are alike.
 */
export interface Funnel {
  target: number;
  sites: FunnelSite[];
  curve: FunnelLimits[];
  false_flag: number;
}

/** Limits of the rate, as proportions (0 to 1), at one number of procedures. */
export interface FunnelLimits {
  procedures: number;
  low_998: number;
  low_95: number;
  high_95: number;
  high_998: number;
}

/**
 * One site. `rate` is a proportion; `tail` the exact chance, at the target, of a count at least
 * as far out on the same side.
 */
export interface FunnelPoint {
  events: number;
  limits: FunnelLimits;
  rate: number;
  zone: "above_95" | "above_998" | "below_95" | "below_998" | "inside";
  tail: number;
}

export interface FunnelSite {
  site: string;
  point: FunnelPoint;
}

/**
 * All in cases, counted as `counted` says. The centre line is the median, as half the points lie on each
 * side of it and not of the mean. `false_alarm` is the chance of one gap above `ucl` where nothing changed;
 * `exact_low` and `exact_high` the 0.00135 and 0.99865 quantiles. `runs` is null for fewer than 10 points.
 */
export interface GChart {
  counted: "cases_between" | "cases_to_event";
  points: GPoint[];
  mean: number;
  median: number;
  lcl: number;
  ucl: number;
  false_alarm: number;
  exact_low: number;
  exact_high: number;
  runs: Runs | null;
  small_number: string[];
}

/** One gap, in cases; whether it lies above the 3-sigma limit, and above the exact one. */
export interface GPoint {
  cases: number;
  above_ucl: boolean;
  above_exact: boolean;
}

/** A piece of the region that no field shows: its outline and the outlines of holes in it, map mm. */
export interface Gap {
  area_mm2: number;
  outline: [number, number][];
  holes: [number, number][][];
}

/** `ends`: when the event came that ends each gap (ms, by the opening of its case). */
export interface Gaps {
  ends: number[];
  cases: GChart;
  days: TChart;
}

export type Harm = "death" | "mild" | "moderate" | "none" | "severe";

/**
 * Events of a rate by the reporter's degree of harm ("" where none was given) and the desk's (or
 * LEFT_OPEN, or UNJUDGED).
 */
export interface HarmPair {
  reported: string;
  judged: string;
  events: number;
}

export interface Health {
  ok: boolean;
  server: string;
  epoch: string;
  app: string;
}

/**
 * `fingerprint`: of its public key, as people compare it by voice. `said`: what it last said of
 * itself.
 */
export interface HubRow {
  id: string;
  name: string;
  fingerprint: string;
  approved_at: number;
  last_heard_at: number | null;
  withdrawn: boolean;
  said: HubSaid | null;
}

/**
 * What a hub says of itself: lines that the server beyond has not said to hold, how far its clock is
 * ahead, its version, the packs that are in force there. `at`: when it said so, by the server's clock.
 */
export interface HubSaid {
  at: number;
  waiting: number;
  clock_offset_ms: number;
  app: string;
  packs: string[];
}

/**
 * What a hub says of itself after a round: phones' lines that the server has not said to hold, its
 * version, the packs in force there. `hub_signature` over `chinrest hub HUB NOW SAID_SHA256`, where
 * SAID_SHA256 is over all else.
 */
export interface HubWord {
  hub: string;
  now: number;
  waiting: number;
  app: string;
  packs: string[];
  hub_signature: string;
}

/** The line that stands in the log at a sequence where another one was kept aside. */
export interface InPlace {
  type: string;
  case: string | null;
  at: number;
}

/** The officer's own judgement; the reporter's words stay beside it. `factors`: what contributed. */
export interface IncidentClassified {
  incident: string;
  by: string;
  harm: Harm | null;
  preventable: "no" | "unclear" | "yes" | null;
  factors: string[];
  reaction?: ReactionClass | null;
  note?: string;
  salt: string;
}

/** By another person than asked for it. */
export interface IncidentClosed {
  incident: string;
  by: string;
  note: string;
  salt: string;
}

export interface IncidentCommented {
  incident: string;
  by: string;
  text: string;
  salt: string;
}

/**
 * How many incidents are in each state of review. `overdue`: with an open action past its day (UTC).
 * `unread_cases`: whose lines stand here but could not be made into a case, whatever the filter says;
 * `unread_devices`: of which that holds for what they noted outside any case.
 */
export interface IncidentCounts {
  new: number;
  in_review: number;
  actions_open: number;
  closed: number;
  overdue: number;
  unread_cases: number;
  unread_devices: number;
}

/** `other` is like this one; `why` says how. `linked` false takes it back. */
export interface IncidentLinked {
  incident: string;
  by: string;
  other: string;
  why: string;
  linked?: boolean;
  salt: string;
}

export interface IncidentList {
  rows: IncidentRow[];
  total: number;
  position: number;
}

/**
 * `like`: others of the same kind. `linked`: those that the review links.
 * `people`: the names of those whose ids stand in the review. `position`: of the log, when it was read.
 */
export interface IncidentPage {
  row: IncidentRow;
  review: Review;
  like: IncidentRow[];
  linked: IncidentRow[];
  people: PersonName[];
  position: number;
}

/** Also takes back the asking for a second look. */
export interface IncidentReopened {
  incident: string;
  by: string;
  why: string;
  salt: string;
}

/**
 * One safety event as it stands after its amendments. From the review: its `state`; `late` when lines
 * came after it was closed; the officer's own degree of harm; who owns the open action that is due first,
 * and when (ISO day). `after_closing`: it tells of something that came after the case was closed, as a
 * reaction at home does.
 */
export interface IncidentRow {
  line: string;
  case: string | null;
  case_code: string | null;
  site: string;
  site_name: string;
  at: number;
  received_at: number;
  what: string;
  reached_patient: boolean | null;
  harm: Harm | null;
  near_miss: boolean;
  practice: boolean;
  optic: string | null;
  device_label: string;
  amended: boolean;
  withdrawn: boolean;
  note: string;
  state: "actions_open" | "closed" | "in_review" | "new";
  late: boolean;
  after_closing: boolean;
  officer_harm: Harm | null;
  owner: string | null;
  due: string | null;
}

/** A dye, and how long after the series' first injection it is meant to be given. */
export interface Injection {
  dye: "fluorescein" | "indocyanine_green";
  after_s: number;
}

/** `url` carries its secret in its fragment, which no server log sees. Shown once, good once. */
export interface InvitationLink {
  staff: string;
  url: string;
  expires_at: number;
}

/** Whose an open invitation is. */
export interface InvitationPerson {
  name: string;
  role: Role;
  expires_at: number;
}

export interface InvitationRequest {
  token: string;
}

export interface InviteRequest {
  name: string;
  role: Role;
  site: string | null;
}

/**
 * The emergency `reaction` (the line that opened it, at `at`) belongs to the incident `incident`.
 *
 * `how`: the event's own line says so, or the rule does. An officer may have parted the two: then `parted`,
 * `parted_by` (a person's id; at the desk their name) and `why`, and each is counted by itself. `again`:
 * another reaction to the dye tells of the same emergency, and the two are counted once, there.
 */
export interface Join {
  reaction: string;
  incident: string;
  at: number;
  how: "rule" | "said";
  again: boolean;
  parted: boolean;
  parted_by: string | null;
  why: string;
}

export interface JoinRequest {
  token: string;
  password: string;
}

export interface Judged {
  at: number;
  classified: IncidentClassified;
}

/**
 * One frame, or one burst.
 *
 * `start_s` to `end_s` on the line, in seconds from the first injection; the moves before it lie before
 * `start_s`. `from_s` and `to_s` are its window in seconds from the injection of its own `dye`. `shots`: how
 * many a burst takes.
 */
export interface LaidFrame {
  id: string;
  window: string;
  dye: "fluorescein" | "indocyanine_green";
  eye: "fellow" | "study";
  field: string;
  h: number;
  v: number;
  turn: number;
  turn_deg: [number, number] | null;
  start_s: number;
  end_s: number;
  from_s: number;
  to_s: number;
  needed: boolean;
  burst: boolean;
  shots: number;
}

export type Landmark = "bridge" | "brow" | "cheek" | "glabella" | "lateral_brow" | "lateral_orbital_rim" | "lower_orbital_rim" | "nasal_flank" | "nasal_root" | "tip";

/** The language that the patient is spoken to in, as the pack's phrases name it. */
export interface LanguageChosen {
  language: string;
  salt: string;
}

/**
 * What was laid for a protocol with one optic, in one eye or two.
 *
 * `id`: protocol, optic, eyes (and a number, but for the usual face), as a case names what it followed.
 * `classes`: the reach classes of the faces that it is for; empty where it is for any. `slack_s`: how late
 * any one frame may begin with everything after it still kept; a burst apart, which begins when it must.
 * `proved`: no order keeps more. `could_keep_more`: where it is not proved, by how many frames a better
 * order might still beat it.
 */
export interface Layout {
  id: string;
  protocol: string;
  optic: string;
  eyes: "one" | "two";
  dyes: Injection[];
  frames: LaidFrame[];
  missed: MissedFrame[];
  slack_s: number;
  proved: boolean;
  could_keep_more: number;
  remedies: Remedy[];
  notes: string[];
  classes: string[];
}

/** Whether anything went beside the vein: asked at the bolus, and again at the arm afterwards. */
export interface LeakAsked {
  dye: string;
  leak: boolean;
  note?: string;
  moment?: "at_injection" | "at_the_end";
  salt: string;
}

/** Why the fellow eye cannot be given an outside light here. */
export interface LightRefusal {
  code: LightRefusalCode;
  sentence: string;
}

export type LightRefusalCode = "fellow_eye_does_not_see" | "hidden_by_face" | "hidden_by_instrument" | "hidden_by_nose" | "too_far_aside";

/** The clinic's limits for positioning; every figure with its reason in the pack's source. */
export interface Limits {
  margin_mm: number;
  necks: Record<NeckClass, NeckLimit>;
  eye_turn: EyeLimits;
  comfort: Comfort;
  eye: Eye;
  solver: Solver;
  touch_words: TouchWords;
  target_cm: number;
  sight_line_radius_mm: number;
  sources: string[];
}

/**
 * Amends an earlier line of the same case: both stay. `body` is the new body of `line`'s type, or null:
 * it did not happen.
 */
export interface LineAmended {
  line: string;
  body: Record<string, unknown> | null;
  why: string;
  salt: string;
}

/**
 * `id` is null only where the line was too broken to name one; `index` is its place in the batch, from 0.
 *
 * waiting: kept, but its predecessor has not come yet. Stored and waiting both mean committed.
 */
export interface LineAnswer {
  index: number;
  id: string | null;
  seq: number | null;
  status: "refused" | "repeat" | "stored" | "waiting";
  code: RefusalCode | null;
  reason: string | null;
}

/**
 * Server's chain: lines of `device` came by file. `by`: a staff id, the id of the phone that carried it,
 * or `command`. `file`: the file's own id.
 */
export interface LinesCarried {
  device: string;
  by: string;
  file: string;
  lines: number;
  refused: number;
  salt: string;
}

/** Who wrote these lines (by id), said afterwards: the phone was locked then, so they name nobody. */
export interface LinesConfirmed {
  lines: string[];
  by: string;
  salt: string;
}

export interface Link {
  other: string;
  by: string;
  at: number;
  why: string;
}

export interface LinkIncident {
  seen: number;
  other: string;
  why: string;
  linked: boolean;
}

/** Server's chain: somebody took out what `what` says, by the address's own `query`. */
export interface LogExported {
  by: string;
  what: "incidents_csv" | "incidents_fhir" | "lines";
  query: string;
  rows: number;
  salt: string;
}

/** Values outside `low`..`high` are refused, with `why` as the sentence. */
export interface MeasureRange {
  low: number;
  high: number;
  why: string;
}

/** A frame that was asked for and that the layout cannot keep, and why, as a sentence. */
export interface MissedFrame {
  id: string;
  window: string;
  dye: "fluorescein" | "indocyanine_green";
  eye: "fellow" | "study";
  field: string;
  h: number;
  v: number;
  needed: boolean;
  why: string;
}

export type Modality = "colour" | "fluorescein" | "indocyanine_green";

/**
 * `months` with `events` and `procedures` of each, in the order of the chart's points. `unfinished`:
 * the last month still runs.
 */
export interface Monthly {
  months: string[];
  events: number[];
  procedures: number[];
  chart: AttributeChart;
  unfinished: boolean;
}

export type NeckClass = "fixed" | "free" | "limited";

/** How far the head may be turned either way (yaw) and tipped either way (pitch), degrees. */
export interface NeckLimit {
  yaw_deg: number;
  pitch_deg: number;
}

/** A layout of the pack by its id, what has happened, and the reference's answer. */
export interface NextFrameVector {
  layout: string;
  progress: SeriesProgress;
  answer: NextFrames;
}

/**
 * `coming`: what is kept, in order; the first is the next. `shut`: can no longer be reached in its window
 * even if it were next. `crowded`: could be taken, but not with the others. `relaid`: the order is not the
 * one that was followed. `slack_s`: how late the next may begin with all the others still kept; null when
 * there is none.
 */
export interface NextFrames {
  coming: Coming[];
  shut: string[];
  crowded: string[];
  relaid: boolean;
  slack_s: number | null;
}

export type NoseClass = "high" | "low" | "medium";

/**
 * A measured number. Outside `least` to `most` it is refused, outside `ask_below` to `ask_above` the
 * phone asks.
 *
 * `sign_below`: a value below this counts as `sign` being seen (it can only escalate), None where it never
 * does.
 * `dye_notes`: dye, then what to know about this reading after that dye.
 */
export interface ObservationField {
  id: "breathing" | "diastolic" | "pulse" | "saturation" | "systolic";
  text: string;
  unit: string;
  least: number;
  most: number;
  ask_below: number;
  ask_above: number;
  sign_below: number | null;
  sign: string;
  dye_notes: Record<string, string>;
  source: string;
}

/**
 * mm, forward positive. `scatter_deg`: the SD of the turn needed about the model's. An end of
 * `interval95` is null where it lies beyond the offsets that were tried. `said`: corrections used.
 */
export interface Offset {
  offset_mm: number;
  interval95: [number | null, number | null];
  scatter_deg: number;
  said: number;
}

/**
 * `both`: from all corrections; `from_more`: from the larger ones alone. Null where there are fewer than
 * 20; `agree`: whether the two intervals overlap.
 */
export interface OffsetFit {
  both: Offset | null;
  from_more: Offset | null;
  agree: boolean | null;
}

/**
 * One optic. Lengths in mm, angles in degrees, mass in grams.
 *
 * The body is a convex solid of revolution about the instrument's axis. `profile` lists (z, radius), z
 * from the plane of the front rim away from the patient; it starts at z = 0, z rises, and the outline
 * never bends inward. `field_deg` is the full cone angle at the eye's entrance pupil at
 * `working_distance_mm`, which runs from the cornea to the rim plane along the axis. `tolerance_mm` is how
 * far past that distance the handbook still allows. `clear_radius_mm` is the usable radius of the front
 * element, at the rim plane.
 */
export interface Optic {
  id: string;
  name: string;
  summary: string;
  field_deg: number;
  field_settings_deg: number[];
  working_distance_mm: number;
  tolerance_mm: number;
  clear_radius_mm: number;
  profile: [number, number][];
  least_pupil_mm: number;
  modalities: Modality[];
  cross_sections: boolean;
  mass_g: number;
  pixels_per_deg: number;
  inside_light_deg: number;
  focus_start: string;
  focus_steps: string[];
  swap_steps: string[];
}

/**
 * The photographer's own choice; `suggested` is the optic that the phone named first, where it named
 * one.
 */
export interface OpticChosen {
  optic: string;
  reason?: string;
  suggested?: string | null;
  salt: string;
}

/** `recovery_left`: how many recovery codes were not used yet. */
export interface OwnAccount {
  second_factor: boolean;
  recovery_left: number;
}

/**
 * Seconds that one photographer needs; a clinic enters its own.
 *
 * `frame_s`: refine, take and glance at one frame. `gaze_move_s`: the eye looks elsewhere, the head stays.
 * `head_turn_s`: draw back, turn, approach; added to a gaze move where both are asked. `eye_change_s`: over
 * to the other eye, gaze and turn included. A turn of less than `turn_from_deg` goes with the gaze move.
 *
 * Defaults: 3 to 5 s pass between pairs of frames in a standard's worked example of a routine fluorescein
 * examination (DICOM PS3.17, Annex U.1.3); the others are common practice, no source.
 */
export interface Pace {
  frame_s: number;
  gaze_move_s: number;
  head_turn_s: number;
  eye_change_s: number;
  turn_from_deg: number;
}

/**
 * `format` is the number of this layout; a phone that doesn't know it keeps its old pack and says so.
 *
 * `phrases`: language, then key, then what is said to the patient. `phrases_unreviewed`: languages whose
 * wording nobody who speaks them has signed yet. `phrase_fallbacks`: language, then the language that stands
 * in for what it does not say.
 */
export interface Pack {
  format: number;
  clinic: string;
  version: string;
  demo: boolean;
  language: string;
  cautions: string[];
  sites: Site[];
  optics: Optic[];
  faces: FaceTables;
  limits: Limits;
  pupil: PupilTable;
  touch: TouchTable;
  stages: Stage[];
  steps: Step[];
  fields: Field[];
  choices: Choices;
  phrases: Record<string, Record<string, string>>;
  thresholds: Thresholds;
  emergency: Emergency;
  fit_vectors: FitVector[];
  phrases_unreviewed: string[];
  phrase_fallbacks: Record<string, string>;
  protocols: Protocol[];
  pace: Pace;
  layouts: Layout[];
  clock_vectors: ClockVector[];
  next_frame_vectors: NextFrameVector[];
  dosing: Dosing | null;
  dyes: Dye[];
  screening: ScreeningQuestion[];
  reaction: ReactionTables | null;
  watch: Watch | null;
  takeaway: Takeaway | null;
  dose_vectors: DoseVector[];
  own_regions: DrawnRegion[];
  retina: PhoneRetina | null;
  regions: PackRegion[];
  cell_vectors: CellVector[];
  planning: Planning;
  reach_classes: ReachClass[];
  plans: PackPlan[];
  pattern_names: PatternName[];
  patterns: PackPattern[];
  sweeps: PackSweep[];
  optic_choices: PackChoice[];
}

/** Server's chain. A pack is in force at a site from its latest approval on. */
export interface PackApproved {
  sha256: string;
  by: string;
  sites: string[];
  note?: string;
  salt: string;
}

/** `hub_signature` over `chinrest pack HUB SHA256 NOW`. */
export interface PackAsked {
  hub: string;
  now: number;
  sha256: string;
  hub_signature: string;
}

/**
 * One row an optic for a region and the reach classes named. A row is possible as far as region and
 * face go; what else is asked (kinds of image, cross-sections, detail, minutes) is compared with its
 * figures. Suggest the first of `quickest` that does it all, or, where minutes are given, the first of
 * `farthest` that keeps them; say the row's `says`, and of each other possible optic the row's
 * `against`.
 */
export interface PackChoice {
  region: string;
  classes: string[];
  rows: ChoiceRow[];
  quickest: string[];
  farthest: string[];
}

/**
 * `groups` that hold something, in the order to read them. `left_out`: what could not be compared, and
 * why; empty where all was.
 */
export interface PackDifference {
  older: Side;
  newer: Side;
  count: number;
  less_careful: number;
  poses_compared: number;
  groups: DifferenceGroup[];
  left_out: string[];
  how: string;
}

/** One fault. `file` is relative to the source folder, `key` a path such as `steps[identity].weight`. */
export interface PackFault {
  file: string;
  key: string;
  reason: string;
}

/** What each optic of a pack computes to. `how`: for whom, and what is not counted. */
export interface PackFits {
  sha256: string;
  version: string;
  clinic: string;
  margin_mm: number;
  optics: [string, string][];
  rows: ClassFit[];
  how: string;
}

export interface PackHeld {
  sha256: string;
  version: string;
  poses: number;
}

/**
 * A known pattern with one optic for the reach classes named: its fields and its figures for a region.
 * `sentence` says what is better or worse than the plan.
 */
export interface PackPattern {
  optic: string;
  region: string;
  classes: string[];
  id: "grid_3x3" | "ring_of_eight" | "ring_of_four" | "seven_standard_fields" | "single" | "two_fields";
  fields: [number, number, number][];
  as_defined: boolean;
  meets: boolean;
  region_fraction: number;
  least_join_overlap: number | null;
  seconds: number;
  sentence: string;
}

/**
 * The plan of one optic and region for the reach classes named. `fields`: [h, v, field_deg] in the
 * order to take them; `turn`: frames with the same number are taken with the head as it stands. `feasible`
 * false: the region cannot be shown as asked, `reason` says why, and the fields show nearly all that can
 * be. `proved`: no plan has fewer; else at least `lower_bound` are needed.
 */
export interface PackPlan {
  optic: string;
  region: string;
  classes: string[];
  feasible: boolean;
  reason: string;
  other_optics: string[];
  fields: [number, number, number][];
  turn: number[];
  count: number;
  lower_bound: number;
  proved: boolean;
  region_fraction: number;
  reachable_fraction: number;
  least_join_overlap: number | null;
  seconds: number;
  discomfort: number;
}

/** Server's chain. Shown on phones at once, even in mid-case. */
export interface PackRecalled {
  sha256: string;
  by: string;
  why: string;
  salt: string;
}

export interface PackRefused {
  sha256: string;
  faults: string[];
  salt: string;
}

/**
 * A part of the retina that can be asked for. `rings`: closed outlines on the map, mm, pieces and holes
 * alike (inside is what an odd number of them goes round). `area_mm2` is exact, not counted in cells.
 */
export interface PackRegion {
  id: string;
  name: string;
  source: string;
  area_mm2: number;
  rings: [number, number][][];
}

/** A guidance pack that the server holds. `in_force`: the sites whose latest approval names it. */
export interface PackRow {
  sha256: string;
  version: string;
  received_at: number;
  approvals: Approval[];
  recalls: Recall[];
  in_force: string[];
}

/** A sweep with one optic: gazes in order, and by sector the frames (places in `fields`) that show it. */
export interface PackSweep {
  optic: string;
  classes: string[];
  fields: [number, number, number][];
  joined: boolean[];
  sectors: Sector[];
}

/** The phone proved the pack by its check vectors and uses it from the next case on. */
export interface PackTaken {
  sha256: string;
  vectors: number;
  salt: string;
}

/** `reaction`: the line that opened the emergency. */
export interface PartReaction {
  seen: number;
  reaction: string;
  why: string;
  parted: boolean;
}

export interface PasswordRequest {
  old: string;
  new: string;
}

/**
 * One pattern. `fields`: those that this patient can be brought to, in the pattern's order; `pulled_in`
 * of them lie nearer the centre than the pattern says, `left_out` cannot be reached at all. `as_defined`:
 * whole and with the field that its definition names. `meets`: as much of the region, and as well joined,
 * as the plan was asked for. `sentence`: what is better or worse than the plan.
 */
export interface Pattern {
  id: "grid_3x3" | "ring_of_eight" | "ring_of_four" | "seven_standard_fields" | "single" | "two_fields";
  name: string;
  source: string;
  fields: [number, number, number][];
  poses: Stop[];
  frames: number;
  pulled_in: number;
  left_out: number;
  as_defined: boolean;
  region_fraction: number;
  least_join_overlap: number | null;
  meets: boolean;
  seconds: number;
  turns: number;
  sentence: string;
}

export interface PatternName {
  id: "grid_3x3" | "ring_of_eight" | "ring_of_four" | "seven_standard_fields" | "single" | "two_fields";
  name: string;
  source: string;
}

export interface PauseNoted {
  state: "ended" | "started";
  why?: string;
  salt: string;
}

/**
 * `people`: everybody about whom `server` ever decided at `site`. `signature`: by the server's key over
 * `people_text`.
 */
export interface PeopleWord {
  server: string;
  epoch: string;
  site: string;
  people: PersonWord[];
  signature: string;
}

/**
 * The incidents of a period, each with its review, in the order of time. `total` is more than there are
 * rows where it was too many for one report. `position`: of the log, at which it was read.
 */
export interface PeriodReport {
  rows: ReportedIncident[];
  total: number;
  position: number;
  people: PersonName[];
}

/** `site` (and its name): all that they see and change is of it; null for all sites. */
export interface Person {
  id: string;
  name: string;
  role: Role;
  site: string | null;
  site_name: string | null;
}

export interface PersonName {
  id: string;
  name: string;
}

/** Server's chain: who was withdrawn works on the site's phones again. `beyond`: as in a withdrawal. */
export interface PersonReadmitted {
  site: string;
  person: string;
  by: string;
  why: string;
  beyond?: DecidedBeyond | null;
  salt: string;
}

/**
 * Server's chain: who no longer works on the site's phones, as named in what they logged. At a hub,
 * `beyond` is which decision of the server beyond it was; null where it was decided here.
 */
export interface PersonWithdrawn {
  site: string;
  person: string;
  by: string;
  why: string;
  beyond?: DecidedBeyond | null;
  salt: string;
}

/**
 * The last decision about one name. `number`: where it stands in the server's log, which only grows
 * within an epoch; `at`: when it was made, by that server's clock (ms), for what a restore lies between. By
 * these an older decision never undoes a newer one, whoever sends its word again.
 */
export interface PersonWord {
  person: string;
  withdrawn: boolean;
  number: number;
  at: number;
}

/**
 * Equal-area cells of the retina, and what is drawn of it. The same for both eyes: x and H nasal+.
 *
 * A cell is a square of the flat map, `spacing_mm` wide, its middle at (`column` + 1/2, `row` + 1/2) x
 * `spacing_mm`; each holds `area_mm2`. `h_deg`, `v_deg`: the direction in which the eye looks when the
 * instrument is straight before that cell. Cells beyond the end of these two lists are retina that no ray
 * through the pupil reaches. `region_bits`: bit i is set where the cell is in the pack's `regions[i]`.
 * `ora`, `reach`, `disc`: closed outlines on the map, mm; the fovea is at 0, 0.
 * `central_deg[i]`: angle at the centre of the eye for the external angle i x `step_deg` from the optic
 * axis, whose own direction is `axis_deg`; from there a field's outline is drawn.
 */
export interface PhoneRetina {
  model: string;
  sources: string[];
  spacing_mm: number;
  area_mm2: number;
  column: number[];
  row: number[];
  h_deg: number[];
  v_deg: number[];
  region_bits: number[];
  radius_mm: number;
  axis_deg: [number, number];
  step_deg: number;
  central_deg: number[];
  ora: [number, number][];
  reach: [number, number][];
  disc: [number, number][];
}

/**
 * `behind_since`: when its pack ceased to be the one in force at its site; for one that never was, or
 * none, when the one in force was approved. Null where it is not behind. `why`: of a recall.
 */
export interface PhoneWithPack {
  device: string;
  label: string;
  last_heard_at: number | null;
  pack: string | null;
  version: string | null;
  stands: "behind" | "current" | "never_here" | "no_pack" | "none_in_force" | "recalled";
  behind_since: number | null;
  why: string;
}

/** What the physician said of an answer that asks for them. `goes_on` false is a stop from then on. */
export interface PhysicianAsked {
  question: string;
  answer: string;
  by: string;
  role: string;
  goes_on: boolean;
  words?: string;
  salt: string;
}

/**
 * One landmark: a point of the skin in the head frame, mm, and how it moves.
 *
 * position = mean + per_pd (pd - reference pd) + per_exophthalmometry (exophthalmometry - reference)
 * + nose_direction x nose class value + brow_direction x brow class value.
 * `sd_mm` is the scatter that remains between people, by axis.
 */
export interface Placement {
  mean_mm: [number, number, number];
  sd_mm: [number, number, number];
  per_pd: [number, number, number];
  per_exophthalmometry: [number, number, number];
  nose_direction: [number, number, number];
  brow_direction: [number, number, number];
  source: string;
}

/**
 * `coverage`: the least fraction of the region's area that the fields show together. `overlap`: two
 * fields count as joined when they share at least this fraction of the smaller one's area on the retina;
 * every field is reached from every other through joined ones.
 */
export interface PlanAsked {
  coverage: number;
  overlap: number;
}

/**
 * The plan or known pattern that this eye is photographed by, with what it is for: `plan:REGION`, a
 * pattern's id and the region such as `ring_of_four:midperiphery`, or `sweep`.
 */
export interface PlanChosen {
  plan: string;
  eye: EyeSide;
  optic: string;
  reason?: string;
  salt: string;
}

/** Why a region cannot be shown as asked. */
export interface PlanReason {
  code: "child_no_computed_turn" | "fields_do_not_join" | "region_beyond_reach" | "unusual_face_no_computed_turn";
  sentence: string;
}

/**
 * A plan by the figures of a pack that the server holds. `region`: the id of a region that it knows,
 * or, with `cones` (full angle, gaze H, V) or a `polygon` of gazes (degrees, nasal+, up+), a name for one
 * drawn here. Fractions that are null are the pack's own; without measures the tables' reference adult
 * stands in.
 */
export interface PlanRequest {
  pack: string;
  optic: string;
  eye: EyeSide;
  region: string;
  cones: [number, number, number][];
  polygon: [number, number][];
  coverage: number | null;
  overlap: number | null;
  measures: FaceMeasures | null;
  age_band: AgeBand | null;
  pupil_mm: number | null;
}

/**
 * What plans are asked for: `coverage`, the least fraction of a region's area; `overlap`, the least
 * part of the smaller field's area that joined fields share. Common practice, no source; a clinic sets its
 * own, and names the regions that its pack has plans for.
 */
export interface Planning {
  coverage: number;
  overlap: number;
  regions: RegionAsked[];
}

/** What the phone computed and showed; null pose with `reason` where nothing was computed or possible. */
export interface PoseAdvised {
  eye: EyeSide;
  optic: string;
  gaze_deg: [number, number];
  reason: string | null;
  yaw_deg: number | null;
  pitch_deg: number | null;
  working_distance_mm: number | null;
  clearance_mm: number | null;
  nearest: string | null;
  field_deg: number | null;
  words: TouchWord | null;
  salt: string;
}

/** How it was in truth. `yaw_deg` and `pitch_deg` are as used, where the photographer says so. */
export interface PoseFound {
  eye: EyeSide;
  optic: string;
  gaze_deg: [number, number];
  outcome: "as_advised" | "less" | "more" | "not_reached";
  by_deg?: number | null;
  nearest?: string | null;
  touched?: boolean;
  yaw_deg?: number | null;
  pitch_deg?: number | null;
  salt: string;
}

/**
 * This is real. The whole case counts from here on, what stands before this line too: what was only
 * played can be amended, what was real can't be uncounted. Its own envelope already says practice false.
 */
export interface PracticeEnded {
  salt: string;
}

/**
 * Windows of one or two dyes on one line, which begins at the first injection.
 *
 * With one eye only the study eye's windows (and `each`, in it) are asked for.
 */
export interface Protocol {
  id: string;
  name: string;
  summary: string;
  dyes: Injection[];
  windows: ProtocolWindow[];
}

/**
 * Frames to be begun and ended between two moments, in seconds after the injection of `dye`.
 *
 * `at`: the centre, the pack's `fields` by their ids, or the plan that covers `region` with the optic in use
 * (the centre where there is none). `every_s`: asked for again at this interval, each time within its own
 * part of the window. `burst`: taken as one run from `from_s` to `to_s`, a frame every `every_s`; it cannot
 * begin late when it is planned. `each`: in both eyes, in either order.
 */
export interface ProtocolWindow {
  id: string;
  name: string;
  dye: "fluorescein" | "indocyanine_green";
  eye: "each" | "fellow" | "study";
  from_s: number;
  to_s: number;
  need: "needed" | "wanted";
  at: "centre" | "fields" | "plan";
  fields: string[];
  region: string;
  every_s: number | null;
  burst: boolean;
  source: string;
}

/** `events` among `tests` as printed. `counted`: what the authors called an event. */
export interface PublishedRate {
  id: string;
  dye: string;
  route: "intravenous" | "oral";
  which: "any" | "severe";
  counted: string;
  events: number;
  tests: number;
  source: string;
}

export interface PupilMeasured {
  eye: EyeSide;
  pupil_mm: number;
  dilated: boolean;
  salt: string;
}

/**
 * Pupil ratio by horizontal gaze (nasal+): entry i stands at `from_deg` + i x `step_deg`.
 *
 * Between two entries the phone takes the smaller (the careful side); beyond the ends, the end.
 */
export interface PupilTable {
  from_deg: number;
  step_deg: number;
  ratios: number[];
  source: string;
}

/**
 * Events among procedures. All but the two counts are per 1,000 procedures; intervals are [low, high].
 *
 * `rule_of_three` is 3/n and `upper95_one_sided` the exact limit that it stands for, 1 - 0.05^(1/n); both
 * only where no event was seen, else null. Hanley & Lippman-Hand 1983, JAMA 249:1743; Eypasch et al. 1995,
 * BMJ 311:619, who use 3/n above 30 procedures. `exact95` is two-sided, so its upper end lies higher.
 * `poisson95` takes the count as Poisson; it fits where one procedure may have several events.
 */
export interface Rate {
  events: number;
  procedures: number;
  per_1000: number;
  exact95: [number, number];
  wilson95: [number, number];
  poisson95: [number, number];
  rule_of_three: number | null;
  upper95_one_sided: number | null;
  small_number: string[];
}

/**
 * `definition`: what is counted among what. `rules`: what is counted and left out. `provisional`:
 * devices that may still hold lines of the period. `position`: where in the log it was counted. `scale`: by
 * which the rows are classes of reactions, and `scales` that could be asked for; only where split by class.
 * `harm_pairs`: harm as reported beside harm as judged at the desk; only where split by either.
 */
export interface RateReport {
  of: "event" | "near_miss" | "reaction" | "reaction_oral" | "touch";
  by: "class" | "desk_harm" | "dye" | "harm" | "month" | "none" | "optic" | "site" | "what";
  definition: string;
  rules: string[];
  rows: RateRow[];
  total: RateRow;
  published: BesidePublished[];
  provisional: DeviceAwaited[];
  scale: string | null;
  scales: ScaleUsed[];
  harm_pairs: HarmPair[];
  position: number;
  first: string | null;
  last: string | null;
  site: string | null;
}

/**
 * `key` is the id that the rate is split by ("" where it is of all). `rate` is null where nothing was
 * done, or where there were more events than procedures, which no proportion holds: `none` then says
 * so.
 */
export interface RateRow {
  key: string;
  events: number;
  procedures: number;
  rate: Rate | null;
  none: string | null;
}

/**
 * Faces that are planned for together: by eye depth, nose and neck as judged (a measured depth falls
 * into a class by the face tables' cut-offs). The rest is the tables' reference adult, with the oldest
 * band's upward gaze.
 */
export interface ReachClass {
  id: string;
  eye_depth: EyeDepthClass;
  nose: NoseClass;
  neck: NeckClass;
}

/**
 * Something was done, at this line's time. `by`: who did it, as said aloud: a role or initials.
 *
 * `drug` and `dose` are as said aloud by whoever gave it; the phone neither suggests nor checks them.
 */
export interface ReactionAction {
  action: string;
  detail?: string;
  by?: string;
  drug?: string;
  dose?: string;
  salt: string;
}

/**
 * A reaction that was opened with no case belongs to the case `to` (its code beside it), or to none.
 *
 * `reaction` is the id that its lines stand under. Written under that id, and again under `to`, so that
 * whoever reads either finds the other.
 */
export interface ReactionAttached {
  reaction: string;
  to: string | null;
  code?: string;
  note?: string;
  salt: string;
}

/** A class on a named scale of the pack, with the version of its table. */
export interface ReactionClass {
  scale: string;
  version: string;
  grade: string;
}

/**
 * The record of the reaction ends; only from here on may a class be derived from it.
 *
 * `case_stopped`: no more is imaged. The closing of the case is a line of its own. `late`: nobody ended it
 * then, and this tells of it afterwards; `after_min`: minutes from its opening to its end, as told, null
 * where nobody knows.
 */
export interface ReactionEnded {
  outcome: "case_goes_on" | "case_stopped";
  note?: string;
  late?: boolean;
  after_min?: number | null;
  salt: string;
}

/** Somebody else leads from here: a role or initials, never a full name. */
export interface ReactionHandedOver {
  to: string;
  salt: string;
}

/**
 * Readings as taken; null where it was not taken. Pulse and breathing a minute, pressures in mmHg,
 * saturation in percent.
 *
 * `green_dye_s`: seconds since the green dye, by which an oximeter reads low for minutes; null: none given.
 */
export interface ReactionObserved {
  pulse?: number | null;
  systolic?: number | null;
  diastolic?: number | null;
  saturation?: number | null;
  breathing?: number | null;
  note?: string;
  green_dye_s?: number | null;
  salt: string;
}

/**
 * The emergency that the line `reaction` opened is another incident than this one, whatever the rule or
 * the phone said; `parted` false takes that back.
 */
export interface ReactionParted {
  incident: string;
  by: string;
  reaction: string;
  why: string;
  parted?: boolean;
  salt: string;
}

/**
 * One reaction. `line` opened it; `ended_at` null: it runs, and nothing is derived from it.
 *
 * `signs`: every sign seen at any time; one tapped by mistake and withdrawn is not among them. `lowest`:
 * of each reading the lowest that was taken. `pack`: in use when it was opened, so that its tables hold.
 * `classes`: one for each scale of that pack, derived each time it is read and never stored; empty with
 * `why`.
 */
export interface ReactionRow {
  line: string;
  at: number;
  ended_at: number | null;
  outcome: string | null;
  pack: string | null;
  signs: string[];
  lowest: Record<string, number>;
  classes: Classed[];
  why: string;
}

/**
 * What a class of a reaction is derived from, and nothing of the class itself. `ended`: whoever recorded
 * it has ended it; before, none is derived. `lowest`: of each reading the lowest that was taken. `dye`: the
 * last given before it in the case's order, or else the first that was given at all; empty where none is on
 * record. `oral`: it was drunk.
 */
export interface ReactionSeen {
  signs: string[];
  lowest: Record<string, number>;
  ended: boolean;
  dye: string;
  oral: boolean;
}

/** A sign (an id of the pack) seen now, or no longer: the change, not the whole list. */
export interface ReactionSign {
  sign: string;
  seen: boolean;
  salt: string;
}

/**
 * The way out was opened: the zero of the reaction's own clock. `screen` is where the phone was.
 *
 * Where no case was open, `case` of the envelope is a fresh id that nothing else was written under; it is
 * attached to the patient's case later.
 */
export interface ReactionStarted {
  screen?: string;
  salt: string;
}

/** `remind_s`: every so many seconds `remind_text` is shown while a reaction runs. */
export interface ReactionTables {
  remind_s: number;
  remind_text: string;
  caution: string;
  escalation: string;
  signs: Sign[];
  criteria: Criterion[];
  actions: TimedAction[];
  observations: ObservationField[];
  scales: Scale[];
}

/**
 * What both clocks said, ms. `boot` names the start that `mono` counts from. `hidden`: the page was
 * hidden at some moment since the reading before, or nobody knows.
 */
export interface Reading {
  at: number;
  mono: number;
  boot: string;
  hidden: boolean;
}

/** Why there is no feasible pose. */
export interface Reason {
  code: ReasonCode;
  sentence: string;
}

export type ReasonCode = "child_no_computed_turn" | "clearance_below_margin" | "distance_outside_tolerance" | "eye_beyond_limit" | "eye_cannot_reach_gaze" | "neck_beyond_limit" | "no_pose_clears_face" | "unusual_face_no_computed_turn";

export interface Recall {
  sha256: string;
  why: string;
  at: number;
}

export interface RecallRequest {
  why: string;
}

/**
 * The server's word that it holds the device's unbroken chain up to `seq`.
 *
 * `signature`: ECDSA P-256/SHA-256 (raw r||s, base64) by the server's key over the ASCII text
 * `chinrest receipt SERVER EPOCH KIND DEVICE SEQ HEAD_SHA256 AT`.
 */
export interface Receipt {
  device: string;
  seq: number;
  head_sha256: string;
  at: number;
  signature: string;
}

/**
 * What became of one carried file. `taken`: inclusive ranges of the device's sequences that the file held
 * and the server holds. `receipt`: null where nothing of the device's chain joins its beginning yet.
 * `backup`: the server's word of its last backup.
 */
export interface Receipts {
  record: "receipts";
  v: number;
  server: string;
  epoch: string;
  device: string;
  file: string;
  at: number;
  taken: [number, number][];
  refused: CarriedRefusal[];
  receipt: FinalReceipt | null;
  backup: BackupWord | null;
}

/** `sha256` of the row before it, without its line end. `signature` over `chinrest receipts SHA256`. */
export interface ReceiptsSeal {
  record: "receipts_seal";
  sha256: string;
  signature: string;
}

/** Each stands once for a code of the authenticator. Shown once, and kept only as hashes. */
export interface RecoveryCodes {
  codes: string[];
}

export type RefusalCode = "bad_body" | "body_hash" | "broken_chain" | "erased" | "fork" | "id_taken" | "malformed" | "too_large" | "wrong_device";

/**
 * A line that was refused or set aside, as far as it could be read. `stands`: of a fork, the line in its
 * place in the branch that counts, if that goes so far.
 */
export interface RefusedRow {
  device: string;
  device_label: string;
  seq: number | null;
  id: string | null;
  type: string | null;
  case: string | null;
  at: number | null;
  received_at: number;
  code: RefusalCode;
  reason: string;
  stands: InPlace | null;
}

/** A region that plans are made for, and what is asked of it where it differs from the rest. */
export interface RegionAsked {
  id: string;
  coverage: number | null;
  overlap: number | null;
}

/**
 * `receipt`: null where nothing of the device stands. `pack`: in force at the device's site.
 * `withdrawn`: the device may no longer write; the hub passes that on. `signature`: the server's, over
 * `chinrest answer SERVER EPOCH KIND HUB_SIGNATURE TOLD_SHA256`: HUB_SIGNATURE is that of the header it
 * answers, so that no earlier answer can stand in for it, and TOLD_SHA256 is over all else that it says but
 * `carrying_key`, `backup` and `people`, which have signatures of their own; the key is null where this is
 * no final server, `backup` where no backup has a line of the device, `people` where the server is older
 * than that word.
 */
export interface RelayAnswer {
  server: string;
  server_key: string;
  epoch: string;
  kind: string;
  lines: LineAnswer[];
  receipt: Receipt | null;
  pack: string | null;
  recalls: Recall[];
  withdrawn: boolean;
  signature: string;
  carrying_key: CarryingKey | null;
  backup: BackupWord | null;
  people: PeopleWord | null;
}

/**
 * First row of a relay's body; the raw lines of one device follow, each ended by a line feed.
 *
 * `signature`: the device's own, over the ASCII of `head_sha256`. `hub_signature`: the hub's, over
 * `chinrest relay HUB DEVICE HEAD_SHA256 LINES_SHA256 NOW`, where LINES_SHA256 is over the bytes after
 * this row. With no lines it asks what the server holds of the device. `tombstones`: of lines that come as
 * envelopes alone, since their bodies were erased at the hub; `stubs`: of lines that the hub refused and has
 * no bytes of. Each of both is signed by the hub by itself.
 */
export interface RelayHeader {
  hub: string;
  now: number;
  device: string;
  label: string;
  site: string;
  public_key: string;
  enrolled_at: number;
  head_seq: number;
  head_sha256: string;
  signature: string;
  hub_signature: string;
  tombstones: Tombstone[];
  stubs: StubWord[];
}

/**
 * One change by which every frame that was asked for would be kept.
 *
 * `window` and `amount`: how many fields of it can be kept, or seconds by which it must end later; `optic`:
 * which other one. `keeps`: `all` frames asked for, or only those `needed`.
 */
export interface Remedy {
  kind: "fewer_fields" | "one_eye" | "other_optic" | "wider_window";
  keeps: "all" | "needed";
  window: string;
  amount: number | null;
  optic: string;
  sentence: string;
}

export interface ReopenIncident {
  seen: number;
  why: string;
}

/** The plan, and the known patterns beside it (none where no turn is computed for this face). */
export interface Replanned {
  plan: FieldPlan;
  patterns: Pattern[];
}

export interface ReportedIncident {
  row: IncidentRow;
  review: Review;
}

/** `erasures`: the latest, newest first. `tombstones`: how many there are in all. */
export interface Retention {
  rule: RuleInForce | null;
  erasures: ErasureRow[];
  tombstones: number;
}

/**
 * From now on cases are kept so many years after their last line came; null: for good. `by`: a staff
 * id.
 */
export interface RetentionSet {
  by: string;
  years: number | null;
  why: string;
  salt: string;
}

/**
 * `count` is how many review lines there are: who changes something names it, so that nobody decides on
 * what another has changed meanwhile. `late`: lines of the case came after it was closed, so that the
 * question is open again. `reopened_why`: the latest reason for opening it again, while that stands, and
 * `reopened_by`.
 */
export interface Review {
  incident: string;
  state: "actions_open" | "closed" | "in_review" | "new";
  count: number;
  judged: Judged | null;
  earlier: Judged[];
  comments: Comment[];
  actions: Action[];
  links: Link[];
  closing: Closing | null;
  late: boolean;
  reopened_why: string | null;
  reopened_by: string | null;
}

export type Role = "admin" | "lead" | "officer" | "photographer";

/** Who has which pack, by site, as told by the phones up to `at`. */
export interface Rollout {
  at: number;
  sites: SiteRollout[];
}

/** `years` after the last line came; null: for good. `by`: a name. */
export interface RuleInForce {
  years: number | null;
  why: string;
  by: string;
  since: number;
}

/**
 * Runs of points on one side of a centre line; points on the line itself are left out.
 *
 * `useful` points are left. `longest_run` above `longest_limit` is a `shift`; `crossings` of the line below
 * `crossings_limit` are `few_crossings`. `longest_from` and `longest_to`: places in the series, from 0, of
 * the first and last point of the longest run.
 */
export interface Runs {
  useful: number;
  longest_run: number;
  longest_limit: number;
  longest_side: "above" | "below";
  longest_from: number;
  longest_to: number;
  crossings: number;
  crossings_limit: number;
  shift: boolean;
  few_crossings: boolean;
}

/**
 * A safety event or near miss. `reached_patient` false is a near miss, whatever `harm` might have been.
 *
 * `harm` is the WHO degree (none, mild, moderate, severe, death), or null when not yet known; the signs are
 * stored as seen, and no class is derived while the event runs. `late`: it came after the case was closed,
 * as a reaction at home does.
 *
 * `dye_s`: seconds since the latest dye went in, null where none did. `reaction`: the line that opened the
 * reaction which this tells of. `finished`: whoever wrote it says that no more is known.
 *
 * Of a late event: `when` it was, in the patient's words, and how many hours after the last dye went in, as
 * told (`after_dye_h`; null where nobody knows).
 */
export interface SafetyNoted {
  what: string;
  reached_patient: boolean | null;
  harm: Harm | null;
  signs: string[];
  done: string[];
  told: string[];
  note?: string;
  step?: string | null;
  optic?: string | null;
  eye?: EyeSide | null;
  late?: boolean;
  dye_s?: number | null;
  reaction?: string | null;
  finished?: boolean;
  when?: string;
  after_dye_h?: number | null;
  salt: string;
}

export interface SaveRow {
  number: number;
  at: number;
  by: string;
  what: string;
  pack: string | null;
}

/**
 * A published scale. `classes` from the lightest; `places`: sign, then the class that the source puts
 * it in.
 *
 * `version` changes with the table. `not_placed`: signs that the source says nothing of; every sign of the
 * pack is either placed or listed here, so that none is forgotten. Scales disagree and are never mapped
 * onto each other.
 */
export interface Scale {
  id: string;
  name: string;
  version: string;
  classes: ScaleClass[];
  places: Record<string, string>;
  not_placed: string[];
  source: string;
}

export interface ScaleClass {
  id: string;
  name: string;
}

/**
 * A scale of the packs that were in use. `versions` of its table; `classes`: id to name, the lightest
 * first.
 */
export interface ScaleUsed {
  id: string;
  name: string;
  versions: string[];
  classes: Record<string, string>;
}

/**
 * Comfort scores 0 (comfortable) to 10 of one optic or class. `counts`: how many of each score, from 0;
 * `quartiles`: scores that a quarter, half and three quarters lie at or below; `mean` of the scores as if
 * they were evenly spaced, which nobody has shown.
 */
export interface ScoreRow {
  key: string;
  noted: number;
  counts: number[];
  quartiles: [number, number, number];
  mean: number;
}

export type Screen = "arm" | "comfort" | "dose" | "face" | "fixation" | "found" | "frames" | "images" | "inject" | "number" | "optic" | "position" | "pupil" | "ready" | "release" | "screening" | "series" | "takeaway" | "text" | "tick" | "watch";

/**
 * `do`: what the photographer does now. `spare_arm`: an arm that the answer rules out.
 *
 * `dose_not_computed`: the clinic's dose rules are not for this patient. No dose of the dyes that the
 * question is about is worked; the physician's own order stands, and a second person checks that.
 * `steady_light`: flashing light may harm, so that the outside light does not blink.
 */
export interface ScreeningAnswer {
  id: string;
  text: string;
  consequence: "ask" | "go" | "note" | "stop";
  do: string;
  spare_arm: "" | "both" | "left" | "right";
  dose_not_computed: boolean;
  steady_light: boolean;
}

/**
 * `question` and `answer` are ids of the pack. A later answer to the same question replaces the earlier.
 *
 * `consequence` is what the pack in force said of it, so that the line can be read without that pack.
 * `why`: the reason, where an answer that held the dye back is replaced by one that holds it back less.
 */
export interface ScreeningAnswered {
  question: string;
  answer: string;
  note?: string;
  consequence?: "ask" | "go" | "note" | "stop" | null;
  why?: string;
  salt: string;
}

/**
 * One question. `dyes`: asked where any of these is to be given; empty: always.
 *
 * `part`: what is asked of the patient, or made sure of in the room just before (`ready`).
 * Where more than one answer holds, the one of the heaviest consequence is given.
 */
export interface ScreeningQuestion {
  id: string;
  part: "patient" | "ready";
  text: string;
  why: string;
  dyes: string[];
  answers: ScreeningAnswer[];
  source: string;
}

export interface SecondFactorOffRequest {
  password: string;
  code: string;
}

export interface SecondFactorRequest {
  password: string;
}

/** For an authenticator to scan (`address`) or for hands to type (`secret`, in base32). Shown once. */
export interface SecondFactorSecret {
  address: string;
  secret: string;
}

/**
 * A part of the retina to check off: the centre (the posterior pole), or an hour of a ring, such as
 * `mid-3`. Hours run as the photographer faces a right eye, nasal at 3; in a left eye hour h stands for 12
 * - h. `frames`: places in the sweep's list of those that show enough of it, best first; `shown`: what
 * part of it all show together.
 */
export interface Sector {
  id: string;
  name: string;
  ring: "far_periphery" | "midperiphery" | "posterior_pole";
  frames: number[];
  shown: number;
}

/**
 * The early frames, taken as shot: both hands are on the instrument, and nothing is judged.
 *
 * `frames` are the layout's frames that it stands for; they are looked through afterwards.
 */
export interface SeriesBurst {
  state: "ended" | "started";
  eye: EyeSide;
  optic: string;
  frames: string[];
  dye_s: number | null;
  salt: string;
}

/**
 * From here on the photographer follows this layout.
 *
 * `protocol` and `layout` are ids of the pack; `eyes` is the order of the eyes, the study eye first.
 */
export interface SeriesLaid {
  protocol: string;
  layout: string;
  eyes: EyeSide[];
  salt: string;
}

/**
 * A burst, looked through.
 *
 * `burst` is the line that began it; `shots` how many frames it has; `bad` those of no use, from 1.
 */
export interface SeriesLooked {
  burst: string;
  shots: number;
  bad: number[];
  salt: string;
}

/**
 * What has happened. `order`: the ids in the order that is followed, from the last answer; empty at the
 * beginning. `done`: taken, or given up. `last`: the frame taken last, which says where eye and head stand.
 * `since`: seconds since the injection of each dye; a dye that is left out was not given yet.
 */
export interface SeriesProgress {
  order: string[];
  done: string[];
  last: string | null;
  since: Record<string, number>;
}

/**
 * No more frames of the series are asked for. The dye's clock goes on.
 *
 * `for_patient`: stopped for the patient's sake, which lengthens the watch once a dye is in. None, as in
 * older lines: not said, and counted as if it were.
 */
export interface SeriesStopped {
  why: string;
  for_patient?: boolean | null;
  salt: string;
}

/** `compiled`: with its tables, plans and check vectors; a source has none. */
export interface Side {
  clinic: string;
  version: string;
  compiled: boolean;
}

/** One sign, as seen, heard or told. Ids are what the log keeps. */
export interface Sign {
  id: string;
  text: string;
  group: "airway" | "awareness" | "breathing" | "circulation" | "gut" | "needle" | "other" | "skin";
}

/** `code`: of the authenticator, or a recovery code; empty until it is asked for. */
export interface SignInRequest {
  name: string;
  password: string;
  code: string;
}

/**
 * One dye's clock at one line. `seconds` null: uncertain. `by` which clock vouches: both of the phone's,
 * its count (mono), the time of day alone (wall), or neither. `wall_s` and `mono_s` are what each says;
 * `mono_s` is null on another phone than the one that timed the dye. `agreed`: counted from what the team
 * agreed on, since both clocks had failed before.
 */
export interface SinceDye {
  dye: string;
  seconds: number | null;
  by: "both" | "mono" | "neither" | "wall";
  wall_s: number;
  mono_s: number | null;
  agreed: boolean;
}

export interface Site {
  id: string;
  name: string;
  has_network: boolean;
}

/** `pack` null: nothing is in force, and `recalled` says whether that is because of a recall. */
export interface SiteRollout {
  site: string;
  name: string;
  pack: string | null;
  version: string | null;
  since: number | null;
  approved_by: string;
  recalled: boolean;
  phones: PhoneWithPack[];
  withdrawn: number;
}

export interface SiteRow {
  id: string;
  name: string;
}

/**
 * How exactly the least-discomfort pose is found.
 *
 * `guard_mm` is added to the margin so that rounding never lands under it. The discomfort found is within
 * `relative_gap` x itself + `absolute_gap` of the least there is; boxes of poses smaller than
 * `least_box_deg` are not split further. Backing off goes in steps of `distance_step_mm`.
 */
export interface Solver {
  guard_mm: number;
  relative_gap: number;
  absolute_gap: number;
  least_box_deg: number;
  distance_step_mm: number;
}

/**
 * Server's chain: what became of somebody who may sign in at the desk. `staff`: who, by id. `by`: a
 * staff id, or `command`. `role` and `site` (null for all) as they are from then on.
 */
export interface StaffChanged {
  staff: string;
  by: string;
  what: "added" | "changed" | "invited" | "joined" | "password_changed" | "readmitted" | "recovery_code_used" | "second_factor_off" | "second_factor_on" | "withdrawn";
  role: string;
  site?: string | null;
  why?: string;
  salt: string;
}

export interface Stage {
  id: string;
  name: string;
}

/** Whole minutes of one stage; `quartiles`: at or below which a quarter, half and three quarters lie. */
export interface StageRow {
  stage: string;
  cases: number;
  quartiles: [number, number, number];
  longest: number;
}

/**
 * One thing to do, as an imperative sentence; `why` is folded away; `say` is the key in `Pack.phrases` of
 * what the patient is told.
 *
 * `each`: asked once for the case, for each eye, or for each optic used. Neighbours in one stage with the
 * same `each` are gone through round by round: all of them for the first eye and optic, then all for the
 * next. Optics come in the order of use, and under each the study eye first. `screen` says what the phone
 * shows.
 * `shows`: the optic's own sentences to list beneath. `fields`: the frames that a `frames` screen checks off
 * (those whose own condition holds), or a `series` screen where no layout of a protocol fits the case. A
 * `number` screen has a `unit` and refuses what is outside `least` to `most`. `dye`: the dye that a
 * `dose` or `inject` screen is about.
 */
export interface Step {
  id: string;
  stage: string;
  weight: Weight;
  text: string;
  why: string;
  say: string;
  screen: "arm" | "comfort" | "dose" | "face" | "fixation" | "found" | "frames" | "images" | "inject" | "number" | "optic" | "position" | "pupil" | "ready" | "release" | "screening" | "series" | "takeaway" | "text" | "tick" | "watch";
  each: "case" | "eye" | "eye_and_optic" | "optic";
  when: Condition;
  source: string;
  shows: "focus_steps" | "nothing" | "swap_steps";
  fields: string[];
  unit: string;
  least: number | null;
  most: number | null;
  dye: string;
}

/** `step` is an id from the pack; `eye` and `optic` say which round of a repeated step. */
export interface StepDone {
  step: string;
  eye?: EyeSide | null;
  optic?: string | null;
  value?: string | null;
  salt: string;
}

export interface StepSkipped {
  step: string;
  reason: string;
  note?: string;
  eye?: EyeSide | null;
  optic?: string | null;
  salt: string;
}

/**
 * Where eye and head are for one frame: the gaze (nasal+, up+) from the instrument's axis, the face's
 * turn and tip, the eye's turn in its head, degrees; working distance, mm.
 */
export interface Stop {
  gaze_deg: [number, number];
  yaw_deg: number;
  pitch_deg: number;
  working_distance_mm: number;
  eye_in_head_deg: [number, number];
}

/**
 * A licensed person lets the dye go ahead in spite of a stop, in their own words.
 *
 * Names what was stopped: a screening question (with the `answer` that was released: another answer is
 * another stop), or a step of weight stop. `by` is initials or a staff id, `role` as the clinic calls it.
 */
export interface StopReleased {
  question: string | null;
  step: string | null;
  by: string;
  role: string;
  words: string;
  answer?: string | null;
  eye?: EyeSide | null;
  optic?: string | null;
  salt: string;
}

/** The browser's answer when asked to keep the store: granted, refused, or it has no such thing. */
export interface StorageAsked {
  answer: "absent" | "granted" | "no_answer" | "refused";
  quota_bytes?: number | null;
  salt: string;
}

/**
 * At `seq` of the device's chain stands a stub for the envelope of that hash. `prev`: what it follows,
 * null where it could not say. `code`: why the hub refused it. `signature`: by the hub's key over
 * `stub_text`.
 */
export interface StubWord {
  seq: number;
  envelope_sha256: string;
  prev: string | null;
  code: string;
  signature: string;
}

/**
 * How one sector of the retina stands after a look through the frames. `sector` is `centre`, or its ring
 * and an hour of the clock (1 to 12) as the photographer faces the eye: `mid-3`, `far-11`.
 */
export interface SweepSector {
  eye: EyeSide;
  sector: string;
  state: "covered" | "dark" | "missing";
  salt: string;
}

/**
 * `holds`: inclusive ranges of this device's sequences that the server has (stubs of refused lines
 * too). `pulled`: raw lines of the site's open cases that other devices wrote, in log order; `more` when
 * cut. `pack`: hash of the pack approved for the site, null where none is. `receipt`: null where nothing
 * stands yet. `final`: at a hub, the final server's own receipt for this device; the phone believes it and
 * not the hub. `backup`: the final server's word of its last backup, null where it has none of this device.
 * `takes_short`: this server takes lines in short form. `taken`: of such a batch, in place of `lines`, where
 * none was refused: its `head_sha256`, which names each of them.
 */
export interface SyncAnswer {
  server: string;
  epoch: string;
  kind: "final" | "hub";
  now: number;
  app: string;
  lines: LineAnswer[];
  holds: [number, number][];
  cursor: number;
  pulled: string[];
  more: boolean;
  pack: string | null;
  recalls: Recall[];
  receipt: Receipt | null;
  final: FinalReceipt | null;
  withdrawn_people: string[];
  backup: BackupWord | null;
  takes_short: boolean;
  taken: string | null;
}

/**
 * First line of a sync request's body (UTF-8, gzip); the raw lines follow, each ended by a line feed.
 *
 * `head_seq`/`head_sha256`: the last envelope in this batch (0 and 64 zeros when it holds none).
 * `signature`: base64 of ECDSA P-256/SHA-256 (raw r||s) by the device's key over the ASCII of head_sha256.
 * `waiting`: lines on the phone that the server has not acknowledged, this batch included.
 * `cursor`: the last log position pulled in `epoch`; null at first.
 * `sealed`: the phone is locked; each line is sealed for the server (RFC 9180, in base64), and nothing is
 * pulled. `short`: the lines are in short form (`chinrest.log.short`), and the answer may be too.
 */
export interface SyncHeader {
  device: string;
  head_seq: number;
  head_sha256: string;
  signature: string | null;
  waiting: number;
  now: number;
  app: string;
  epoch: string | null;
  cursor: number | null;
  sealed: boolean;
  short: boolean;
}

/** All in days. `centre` is the transformed mean turned back; runs are about the median of the days. */
export interface TChart {
  points: TPoint[];
  centre: number;
  median: number;
  lcl: number;
  ucl: number;
  runs: Runs | null;
  small_number: string[];
}

/** One gap in days, and whether it lies beyond a limit. */
export interface TPoint {
  days: number;
  above_ucl: boolean;
  below_lcl: boolean;
}

/**
 * The card. `title`, `reach` (how to reach the clinic if something comes late) and lines, by language.
 *
 * `unreviewed`: languages whose wording nobody who speaks them has signed yet; the card says so.
 */
export interface Takeaway {
  title: Record<string, string>;
  reach: Record<string, string>;
  unreviewed: string[];
  lines: TakeawayLine[];
}

/** The clinic's take-away card, by the ids of what it said, in the patient's language. */
export interface TakeawayGiven {
  language: string;
  how: "declined" | "printed" | "read_out" | "shared" | "shown";
  parts: string[];
  salt: string;
}

/** One line of the card. `dyes`: for which dyes, empty for any. `text`: language, then the line. */
export interface TakeawayLine {
  id: string;
  dyes: string[];
  text: Record<string, string>;
  source: string;
}

/**
 * `keep_days`: how long a closed and acknowledged case stays on the phone. `close_optic_mm`: a working
 * distance at or below this is a close optic. `large_move_deg`: a move of the gaze this far or further is
 * made with the instrument drawn back. `chin_rest_break_min`: after so many minutes in the rest a break is
 * offered, 0 for never.
 */
export interface Thresholds {
  comfort_pause_at: number;
  comfort_rise_pause: number;
  keep_days: number;
  close_optic_mm: number;
  large_move_deg: number;
  clock_warn_ms: number;
  chin_rest_break_min: number;
}

/**
 * One tap logs it with its time. `asks`: nothing, a detail, or a drug as said aloud (what, how much, by
 * whom).
 */
export interface TimedAction {
  id: string;
  text: string;
  asks: "detail" | "drug" | "nothing";
}

export interface Timeline {
  case: string;
  code: string | null;
  site: string;
  site_name: string;
  state: "closed" | "open";
  outcome: string | null;
  practice: boolean;
  entries: TimelineEntry[];
  position: number;
  reactions: ReactionRow[];
  joins: Join[];
}

/**
 * One line of a case, in order. `body` is null when the type is unknown to this version or it was erased;
 * `known` says which. `amended_by` names the line that replaced it; `advice` is the pose that had been
 * advised when this entry records how it was in truth. `since_dye`: the clock of each dye at this line;
 * `lacks`: what it does not say, so that it counts for nothing (`log/lacking.py`).
 */
export interface TimelineEntry {
  id: string;
  device: string;
  device_label: string;
  seq: number;
  at: number;
  offset_ms: number | null;
  received_at: number;
  actor: string | null;
  type: string;
  known: boolean;
  pack: string | null;
  practice: boolean;
  body: Record<string, unknown> | null;
  amended_by: string | null;
  advice: Record<string, unknown> | null;
  since_dye: SinceDye[];
  lacks: "eased" | "go_ahead" | "reason" | "release" | "skip" | null;
}

export type TokenKind = "full" | "next" | "send";

/**
 * Tokens that a phone with PINs made, by their SHA-256 (lower-case hex): `send` may only send; `full`
 * (empty where it stays) is a new one in place of that which stood in the clear.
 *
 * `signature`: ECDSA P-256/SHA-256 (raw r||s, base64) by the device's key over the ASCII text
 * `chinrest tokens SERVER DEVICE SEND FULL`.
 */
export interface TokensRequest {
  send: string;
  full: string;
  signature: string;
}

/** One as it is shown to another server. `case`: what the envelope of its line names. */
export interface Tombstone {
  case: string | null;
  body: BodiesErased;
}

/**
 * For one optic and the landmark it is nearest to: the clearance (mm, nominal face) from which each
 * word is used.
 *
 * None: no clearance that was tried earns the word. A clearance below both is expect_to_adjust, as is a
 * landmark without a row.
 */
export interface TouchRow {
  optic: string;
  landmark: Landmark;
  likely_clear_mm: number | null;
  close_mm: number | null;
  samples: number;
}

/** Words for how near the optic comes, by the worse of the two faces and rounded to the careful side. */
export interface TouchTable {
  rows: TouchRow[];
  how: string;
}

export type TouchWord = "close" | "expect_to_adjust" | "likely_clear";

/** Chance of touching (worse face) up to which each word is used; above both, expect_to_adjust. */
export interface TouchWords {
  likely_clear_up_to: number;
  close_up_to: number;
  samples: number;
}

export type WarningCode = "age_not_given" | "backed_off" | "eye_depth_judged" | "eye_turn_beyond_comfortable" | "forward_face_touches" | "inside_light_out_of_range" | "pupil_narrow" | "pupil_vertical_gaze";

export interface Watch {
  rules: WatchRule[];
  caution: string;
}

/** `after_min` whole minutes after the watch's `since`. `early`: before its minutes were over, and why. */
export interface WatchEnded {
  after_min: number;
  early: boolean;
  well?: boolean | null;
  why?: string;
  salt: string;
}

/** At least so many minutes after the last injection where `happened` holds. The longest one counts. */
export interface WatchRule {
  happened: "child" | "faint" | "injected" | "leak" | "nausea" | "reaction" | "stopped";
  minutes: number;
  text: string;
  source: string;
}

/** `minutes` by the pack's rules of the names in `rules`, counted from `since` (wall clock, ms). */
export interface WatchStarted {
  minutes: number;
  rules: string[];
  since: number;
  salt: string;
}

export type Weight = "must" | "note" | "should" | "stop";

/** Weights that are usual at one age, kg. Outside of them the phone asks; it never corrects. */
export interface WeightBand {
  id: string;
  name: string;
  ask_below_kg: string;
  ask_above_kg: string;
}

/**
 * One window of a protocol, among the `cases` that followed a layout with it: what became of it, and the
 * share in which it was kept.
 */
export interface WindowRow {
  protocol: string;
  window: string;
  cases: number;
  kept: number;
  untimed: number;
  early: number;
  late: number;
  missed: number;
  stopped: number;
  rate: Rate;
}

export interface WithdrawRequest {
  why: string;
}

/** The body of each event type; the type itself stands in the envelope. */
export interface BodyOf {
  "action.added": ActionAdded;
  "action.changed": ActionChanged;
  "action.finished": ActionFinished;
  "bodies.erased": BodiesErased;
  "case.closed": CaseClosed;
  "case.flagged": CaseFlagged;
  "case.handed_over": CaseHandedOver;
  "case.opened": CaseOpened;
  "case.read": CaseRead;
  "case.taken": CaseTaken;
  "clock.uncertain": ClockUncertain;
  "comfort.noted": ComfortNoted;
  "data_key.given_back": DataKeyGivenBack;
  "device.enrolled": DeviceEnrolled;
  "device.withdrawn": DeviceWithdrawn;
  "dose.checked": DoseChecked;
  "dose.worked": DoseWorked;
  "dye.flushed": DyeFlushed;
  "dye.injected": DyeInjected;
  "dye.left_out": DyeLeftOut;
  "face.measured": FaceMeasured;
  "fixation.chosen": FixationChosen;
  "frame.taken": FrameTaken;
  "incident.classified": IncidentClassified;
  "incident.closed": IncidentClosed;
  "incident.closing_asked": ClosingAsked;
  "incident.commented": IncidentCommented;
  "incident.linked": IncidentLinked;
  "incident.parted": ReactionParted;
  "incident.reopened": IncidentReopened;
  "language.chosen": LanguageChosen;
  "leak.asked": LeakAsked;
  "line.amended": LineAmended;
  "lines.carried": LinesCarried;
  "lines.confirmed": LinesConfirmed;
  "log.exported": LogExported;
  "optic.chosen": OpticChosen;
  "pack.approved": PackApproved;
  "pack.recalled": PackRecalled;
  "pack.refused": PackRefused;
  "pack.taken": PackTaken;
  "pause.noted": PauseNoted;
  "person.readmitted": PersonReadmitted;
  "person.withdrawn": PersonWithdrawn;
  "physician.asked": PhysicianAsked;
  "plan.chosen": PlanChosen;
  "pose.advised": PoseAdvised;
  "pose.found": PoseFound;
  "practice.ended": PracticeEnded;
  "pupil.measured": PupilMeasured;
  "reaction.action": ReactionAction;
  "reaction.attached": ReactionAttached;
  "reaction.ended": ReactionEnded;
  "reaction.handed_over": ReactionHandedOver;
  "reaction.observed": ReactionObserved;
  "reaction.sign": ReactionSign;
  "reaction.started": ReactionStarted;
  "retention.set": RetentionSet;
  "safety.noted": SafetyNoted;
  "screening.answered": ScreeningAnswered;
  "series.burst": SeriesBurst;
  "series.laid": SeriesLaid;
  "series.looked": SeriesLooked;
  "series.stopped": SeriesStopped;
  "staff.changed": StaffChanged;
  "step.done": StepDone;
  "step.skipped": StepSkipped;
  "stop.released": StopReleased;
  "storage.asked": StorageAsked;
  "sweep.sector": SweepSector;
  "takeaway.given": TakeawayGiven;
  "watch.ended": WatchEnded;
  "watch.started": WatchStarted;
}
