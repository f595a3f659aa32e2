/** What random days are made of, and some days that they need not hit upon. */
import fc from "fast-check";
import type { Mischief } from "./fakeServer";

export type Step =
  | { do: "write"; tab: number; many: number }
  | { do: "write_both" }
  | { do: "link"; up: boolean }
  | { do: "mischief"; what: Mischief; after: number }
  | { do: "meanwhile"; what: "write" | "close" | "lock" | "restore"; after: number }
  | { do: "pass"; ms: number }
  | { do: "reload"; tab: number }
  | { do: "tab"; tab: number }
  | { do: "jump"; ms: number }
  | { do: "ask"; tab: number }
  | { do: "back"; tab: number; thawed: boolean }
  | { do: "file"; tab: number }
  | { do: "carry"; which: number }
  | { do: "open"; tab: number; which: number }
  | { do: "snapshot" }
  | { do: "restore"; sameEpoch: boolean }
  | { do: "pin" | "lock" | "unlock"; tab: number }
  | { do: "told" };

const tabs = fc.integer({ min: 0, max: 1 });
const mischief: fc.Arbitrary<Mischief> = fc.oneof(
  fc.constant<Mischief>({ kind: "unreachable" }),
  fc.constant<Mischief>({ kind: "lose_answer" }),
  fc.constantFrom(500, 502, 503, 429, 404, 413).map((status): Mischief => ({ kind: "status", status })),
  fc.constant<Mischief>({ kind: "hang" }),
  fc.constant<Mischief>({ kind: "portal" }),
  fc.constant<Mischief>({ kind: "half" }),
  fc.constant<Mischief>({ kind: "cut" }),
);
/** How many requests go well before it comes. */
const after = fc.integer({ min: 0, max: 3 });
export const step: fc.Arbitrary<Step> = fc.oneof(
  {
    weight: 6,
    arbitrary: fc.record({
      do: fc.constant("write" as const),
      tab: tabs,
      many: fc.integer({ min: 1, max: 4 }),
    }),
  },
  {
    weight: 1,
    arbitrary: fc.record({
      do: fc.constant("write" as const),
      tab: tabs,
      many: fc.integer({ min: 10, max: 25 }),
    }),
  },
  { weight: 2, arbitrary: fc.record({ do: fc.constant("write_both" as const) }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant("link" as const), up: fc.boolean() }) },
  { weight: 4, arbitrary: fc.record({ do: fc.constant("mischief" as const), what: mischief, after }) },
  {
    weight: 3,
    arbitrary: fc.record({
      do: fc.constant("meanwhile" as const),
      what: fc.constantFrom("write", "close", "lock", "restore"),
      after,
    }),
  },
  {
    weight: 5,
    arbitrary: fc.record({
      do: fc.constant("pass" as const),
      ms: fc.constantFrom(100, 1_100, 7_000, 65_000, 400_000),
    }),
  },
  { weight: 2, arbitrary: fc.record({ do: fc.constant("reload" as const), tab: tabs }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("tab" as const), tab: tabs }) },
  {
    weight: 1,
    arbitrary: fc.record({ do: fc.constant("jump" as const), ms: fc.integer({ min: -9e9, max: 9e9 }) }),
  },
  { weight: 2, arbitrary: fc.record({ do: fc.constant("ask" as const), tab: tabs }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("back" as const), tab: tabs, thawed: fc.boolean() }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant("file" as const), tab: tabs }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant("carry" as const), which: fc.nat(9) }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant("open" as const), tab: tabs, which: fc.nat(9) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("snapshot" as const) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("restore" as const), sameEpoch: fc.boolean() }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("pin" as const), tab: tabs }) },
  {
    weight: 2,
    arbitrary: fc.record({ do: fc.constantFrom("lock" as const, "unlock" as const), tab: tabs }),
  },
);

/** A day that goes out and back by file: the random ones need not. */
const BY_FILE: Step[] = [
  { do: "link", up: false },
  { do: "write", tab: 0, many: 3 },
  { do: "file", tab: 0 },
  { do: "write", tab: 0, many: 1 },
  { do: "carry", which: 0 },
  { do: "open", tab: 0, which: 0 },
  { do: "file", tab: 0 },
  { do: "link", up: true },
];

/** PINs from early on, two tabs, lines written in both while they are locked. */
const LOCKED: Step[] = [
  { do: "tab", tab: 1 },
  { do: "pin", tab: 0 },
  { do: "write_both" },
  { do: "link", up: false },
  { do: "reload", tab: 0 },
  { do: "write", tab: 0, many: 2 },
  { do: "file", tab: 0 },
  { do: "unlock", tab: 0 },
  { do: "write_both" },
  { do: "link", up: true },
  { do: "pass", ms: 7_000 },
  { do: "lock", tab: 0 },
  { do: "write", tab: 0, many: 1 },
];

/** A phone that goes by both its tokens, and a server that is set back to before it knew them. */
const SET_BACK: Step[] = [
  { do: "pin", tab: 0 },
  { do: "told" },
  { do: "lock", tab: 0 },
  { do: "write", tab: 0, many: 2 },
  { do: "pass", ms: 60_000 },
  { do: "unlock", tab: 0 },
  { do: "write", tab: 0, many: 1 },
  { do: "pass", ms: 60_000 },
  { do: "restore", sameEpoch: false },
  { do: "write", tab: 0, many: 1 },
  { do: "pass", ms: 60_000 },
  { do: "told" },
  { do: "lock", tab: 0 },
  { do: "write", tab: 0, many: 1 },
];

/** Several requests in a row, and everything that may come between two of them. */
const IN_A_ROW: Step[] = (["write", "lock", "close", "restore"] as const).flatMap((what): Step[] => [
  { do: "link", up: false },
  { do: "write", tab: 0, many: 20 },
  { do: "link", up: true },
  { do: "meanwhile", what, after: 2 },
  { do: "mischief", what: { kind: "cut" }, after: 1 },
  { do: "ask", tab: 0 },
  { do: "pass", ms: 65_000 },
  { do: "pin", tab: 0 },
  { do: "unlock", tab: 0 },
]);

export const EXAMPLES: [Step[], boolean][] = [
  [BY_FILE, false],
  [LOCKED, false],
  [SET_BACK, false],
  [IN_A_ROW, true],
];
