/** When the phone talks to the server: a pure state machine. `SYNC.md` holds the same table in words; a test holds
 * the two equal. Every pair of state and event has a cell: one that is missing does not compile. */

export type State = "idle" | "sending" | "waiting" | "stuck" | "withdrawn" | "unknown" | "outdated";

export type Event =
  // from outside
  | "asked" // the person pressed the button
  | "returned" // came online, became visible, app started
  | "nudged" // a line was written
  | "due" // the timer that was set has run out
  | "enrolled" // a token was given, or given anew
  // how the request under way ended
  | "done" // answered and stored, nothing is left on either side
  | "more" // answered and stored, something is left
  | "same" // answered, something is left, but nothing moved
  | "stalled" // `same`, too often
  | "oversize" // too large for the server, and there were lines to leave out
  | "late" // no answer within the time limit
  | "failed" // no network, an error of the server, an answer that isn't one, or it could not be stored
  | "busy" // another tab is talking to the server
  | "shut_withdrawn" // the server has withdrawn this phone
  | "shut_unknown" // the server does not know this phone
  | "too_old"; // the server asks for a newer app before it takes lines

export type Action =
  | "none"
  | "send" // start a request
  | "fresh" // forget earlier failures, start a request
  | "next" // forget earlier failures, let batches grow, start a request
  | "smaller" // halve the batch, start a request
  | "soon" // a request after a short pause, so that taps in a row go together
  | "rest" // forget earlier failures, let batches grow, a request after the resting time
  | "later" // a request after the back-off, which grows
  | "smaller_later" // halve the batch, a request after the back-off
  | "again_later" // count one more answer without progress, a request after the back-off
  | "slow" // a request after the longest back-off
  | "stop"; // no timer

export type Cell = readonly [State, Action];
export type Table = { readonly [S in State]: { readonly [E in Event]: Cell } };

const stay = (state: State): Record<OutcomeEvent, Cell> => ({
  done: [state, "none"],
  more: [state, "none"],
  same: [state, "none"],
  stalled: [state, "none"],
  oversize: [state, "none"],
  late: [state, "none"],
  failed: [state, "none"],
  busy: [state, "none"],
  shut_withdrawn: [state, "none"],
  shut_unknown: [state, "none"],
  too_old: [state, "none"],
});

type OutcomeEvent = Exclude<Event, "asked" | "returned" | "nudged" | "due" | "enrolled">;

export const TABLE: Table = {
  idle: {
    asked: ["sending", "fresh"],
    returned: ["sending", "send"],
    nudged: ["idle", "soon"],
    due: ["sending", "send"],
    enrolled: ["sending", "fresh"],
    ...stay("idle"),
  },
  sending: {
    asked: ["sending", "none"],
    returned: ["sending", "none"],
    nudged: ["sending", "none"],
    due: ["sending", "none"],
    enrolled: ["sending", "none"],
    done: ["idle", "rest"],
    more: ["sending", "next"],
    same: ["waiting", "again_later"],
    stalled: ["stuck", "slow"],
    oversize: ["sending", "smaller"],
    late: ["waiting", "smaller_later"],
    failed: ["waiting", "later"],
    busy: ["idle", "soon"],
    shut_withdrawn: ["withdrawn", "stop"],
    shut_unknown: ["unknown", "stop"],
    too_old: ["outdated", "slow"],
  },
  waiting: {
    asked: ["sending", "fresh"],
    returned: ["sending", "send"],
    nudged: ["waiting", "none"],
    due: ["sending", "send"],
    enrolled: ["sending", "fresh"],
    ...stay("waiting"),
  },
  stuck: {
    asked: ["sending", "fresh"],
    returned: ["stuck", "none"],
    nudged: ["stuck", "none"],
    due: ["sending", "send"],
    enrolled: ["sending", "fresh"],
    ...stay("stuck"),
  },
  withdrawn: {
    asked: ["sending", "fresh"],
    returned: ["withdrawn", "none"],
    nudged: ["withdrawn", "none"],
    due: ["withdrawn", "none"],
    enrolled: ["sending", "fresh"],
    ...stay("withdrawn"),
  },
  unknown: {
    asked: ["sending", "fresh"],
    returned: ["unknown", "none"],
    nudged: ["unknown", "none"],
    due: ["unknown", "none"],
    enrolled: ["sending", "fresh"],
    ...stay("unknown"),
  },
  outdated: {
    asked: ["sending", "fresh"],
    returned: ["sending", "send"],
    nudged: ["outdated", "none"],
    due: ["sending", "send"],
    enrolled: ["sending", "fresh"],
    ...stay("outdated"),
  },
};

/** The first one is on its way sooner, and what a slow link can carry is not known yet. */
export const FIRST_BATCH_BYTES = 512 * 1024;
/** The server takes 1 MiB, header and all; a letter outside ASCII counts once here and twice or more there. */
export const BATCH_BYTES = 960 * 1024;
export const LEAST_BATCH_BYTES = 4 * 1024;
export const SOON_MS = 1_000;
export const REST_MS = 60_000;
export const BACK_OFF_MS = 2_000;
export const LONGEST_MS = 5 * 60_000;
/** Answers in a row that moved nothing before the phone stops asking at its usual pace. */
export const SAME_LIMIT = 3;

export interface Model {
  state: State;
  /** Failures in a row. */
  failures: number;
  /** Answers in a row that moved nothing. */
  same: number;
  limitBytes: number;
  /** Batches never grow past what the server has once refused for size. */
  ceilingBytes: number;
}

/** What the driver is to do: start a request now, or set the one timer (`null`: take it off; `unlessSooner`: leave
 * it if it runs out earlier, or a row of taps would put it off for ever), or leave all. */
export type Order =
  | { do: "send" }
  | { do: "timer"; ms: number | null; unlessSooner: boolean }
  | { do: "nothing" };

export const START: Model = {
  state: "idle",
  failures: 0,
  same: 0,
  limitBytes: FIRST_BATCH_BYTES,
  ceilingBytes: BATCH_BYTES,
};

/** Half fixed, half random, so that a clinic's phones don't all come back in the same second. */
export function backOff(failures: number, random: number): number {
  const full = Math.min(LONGEST_MS, BACK_OFF_MS * 2 ** Math.min(failures, 20));
  return Math.round(full / 2 + (full / 2) * random);
}

/** One step. `random` is 0 up to 1; `leastMs` is how long the server asked to be left alone. */
export function step(
  model: Model,
  event: Event,
  random: number,
  leastMs = 0,
): { model: Model; order: Order } {
  const [state, action] = TABLE[model.state][event];
  const halved = Math.max(LEAST_BATCH_BYTES, Math.floor(model.limitBytes / 2));
  const grown = Math.min(model.ceilingBytes, model.limitBytes * 2);
  const timer = (ms: number): Order => ({
    do: "timer",
    ms: Math.max(ms, Math.min(leastMs, LONGEST_MS)),
    unlessSooner: action === "soon",
  });
  const sendWith = (change: Partial<Model>): { model: Model; order: Order } => ({
    model: { ...model, ...change, state },
    order: { do: "send" },
  });
  const waitWith = (ms: number, change: Partial<Model>): { model: Model; order: Order } => ({
    model: { ...model, ...change, state },
    order: timer(ms),
  });
  const pause = backOff(model.failures, random);
  const failures = model.failures + 1;
  switch (action) {
    case "none":
      return { model: { ...model, state }, order: { do: "nothing" } };
    case "send":
      return sendWith({});
    case "fresh":
      return sendWith({ failures: 0, same: 0 });
    case "next":
      return sendWith({ failures: 0, same: 0, limitBytes: grown });
    case "smaller":
      return sendWith({ limitBytes: halved, ceilingBytes: halved });
    case "soon":
      return waitWith(SOON_MS, {});
    case "rest":
      return waitWith(REST_MS, { failures: 0, same: 0, limitBytes: grown });
    case "later":
      return waitWith(pause, { failures });
    case "smaller_later":
      return waitWith(pause, { failures, limitBytes: halved });
    case "again_later":
      return waitWith(pause, { failures, same: model.same + 1 });
    case "slow":
      return waitWith(LONGEST_MS, { same: 0 });
    case "stop":
      return { model: { ...model, state }, order: { do: "timer", ms: null, unlessSooner: false } };
  }
}

/** How an answer that was stored counts. `before` and `after` say how far the exchange stood. */
export function judge(
  model: Model,
  before: string,
  after: string,
  left: boolean,
): "done" | "more" | "same" | "stalled" {
  if (!left) return "done";
  if (before !== after) return "more";
  return model.same + 1 >= SAME_LIMIT ? "stalled" : "same";
}
