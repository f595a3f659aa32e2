import fc from "fast-check";
import { describe, expect, it } from "vitest";
import {
  type Action,
  BATCH_BYTES,
  backOff,
  type Event,
  FIRST_BATCH_BYTES,
  judge,
  LEAST_BATCH_BYTES,
  LONGEST_MS,
  type Model,
  SAME_LIMIT,
  START,
  type State,
  step,
  TABLE,
} from "./machine";

const pages = import.meta.glob("../../../SYNC.md", { query: "?raw", import: "default", eager: true });
const page = Object.values(pages)[0] as string;

/** Every table of the page: its heading cells and its rows. */
function tables(text: string): { head: string[]; rows: string[][] }[] {
  const cells = (line: string): string[] =>
    line
      .slice(1, -1)
      .split("|")
      .map((cell) => cell.trim());
  return text
    .split(/\n\n+/)
    .map((block) => block.split("\n").filter((line) => line.startsWith("|")))
    .filter((lines) => lines.length > 2)
    .map(([head = "", , ...rows]) => ({ head: cells(head), rows: rows.map(cells) }));
}

const states = Object.keys(TABLE) as State[];
const events = Object.keys(TABLE.idle) as Event[];

describe("the written table", () => {
  const found = tables(page);
  const transitions = found.filter(({ head }) => head[0] === "state" && events.includes(head[1] as Event));

  it("has each state and event once, and no other", () => {
    expect(transitions.flatMap(({ head }) => head.slice(1)).sort()).toEqual([...events].sort());
    for (const { rows } of transitions) expect(rows.map(([state]) => state)).toEqual(states);
  });

  it("says what the code does, cell by cell", () => {
    let compared = 0;
    for (const { head, rows } of transitions) {
      for (const [state = "", ...cells] of rows) {
        cells.forEach((cell, i) => {
          const event = head[i + 1] as Event;
          expect(`${state} ${event}: ${cell}`).toBe(
            `${state} ${event}: ${TABLE[state as State][event].join(" ")}`,
          );
          compared += 1;
        });
      }
    }
    expect(compared).toBe(states.length * events.length);
  });

  it("explains every state, event and action that there is", () => {
    const explained = (name: string): string[] =>
      found
        .find(({ head }) => head[0] === name && !events.includes(head[1] as Event))
        ?.rows.map(([cell = ""]) => cell) ?? [];
    expect(explained("state").sort()).toEqual([...states].sort());
    expect(explained("event").sort()).toEqual([...events].sort());
    const used = new Set(states.flatMap((state) => events.map((event): Action => TABLE[state][event][1])));
    expect(explained("action").sort()).toEqual([...used].sort());
  });

  it("names tests that exist for every invariant", () => {
    const files = Object.keys(import.meta.glob("../**/*.test.ts")).map((path) => path.split("/").at(-1));
    files.push("machine.test.ts"); // a glob leaves out the file that it stands in
    const invariants = found.find(({ head }) => head[0] === "id")?.rows ?? [];
    expect(invariants.map(([id]) => id)).toEqual(invariants.map((_, i) => `I${i + 1}`));
    for (const [, , held = ""] of invariants) {
      const named = [...held.matchAll(/`([^`]+)`/g)].map(([, name]) => name);
      expect(named.length).toBeGreaterThan(0);
      for (const name of named) expect(files).toContain(name);
    }
  });
});

describe("any row of events", () => {
  const outcomes: Event[] = ["done", "more", "same", "stalled", "oversize", "late", "failed", "busy"];
  outcomes.push("shut_withdrawn", "shut_unknown", "too_old");
  const rows = fc.array(
    fc.record({ event: fc.constantFrom(...events), random: fc.double({ min: 0, max: 1, noNaN: true }) }),
  );

  it("never starts a second request, never forgets to look again, and keeps batches in bounds", () => {
    fc.assert(
      fc.property(rows, (row) => {
        let model: Model = START;
        let timer = false;
        for (const { event, random } of row) {
          // the driver reports an outcome only when a request is under way, and `due` only from its timer
          const sending = model.state === "sending";
          if (outcomes.includes(event) && !sending) continue;
          if (event === "due" && !timer) continue;
          if (event === "due") timer = false;
          const { model: next, order } = step(model, event, random);
          if (order.do === "send") {
            expect(sending && !outcomes.includes(event)).toBe(false);
            expect(next.state).toBe("sending");
            timer = false;
          }
          if (order.do === "timer") {
            timer = order.ms !== null;
            if (order.ms !== null) {
              expect(order.ms).toBeGreaterThanOrEqual(1_000);
              expect(order.ms).toBeLessThanOrEqual(LONGEST_MS);
            }
          }
          expect(next.limitBytes).toBeGreaterThanOrEqual(LEAST_BATCH_BYTES);
          expect(next.limitBytes).toBeLessThanOrEqual(Math.max(next.ceilingBytes, LEAST_BATCH_BYTES));
          expect(next.ceilingBytes).toBeLessThanOrEqual(BATCH_BYTES);
          model = next;
          // while neither a request nor a timer is there, only shut out phones and the start may rest
          const resting = ["withdrawn", "unknown"].includes(model.state) || model === START;
          if (!timer && model.state !== "sending" && !resting) expect(model.state).toBe("idle");
        }
      }),
      { numRuns: 500 },
    );
  });

  it("backs off further with each failure, up to a ceiling, with jitter of half", () => {
    for (let failures = 0; failures < 40; failures++) {
      const [low, high] = [backOff(failures, 0), backOff(failures, 0.999999)];
      expect(high / low).toBeCloseTo(2, 2);
      expect(high).toBeLessThanOrEqual(LONGEST_MS);
      if (failures > 0) expect(backOff(failures, 0)).toBeGreaterThanOrEqual(backOff(failures - 1, 0));
    }
  });

  it("does not grow a batch past what was refused for size", () => {
    let model: Model = { ...START, state: "sending" };
    model = step(model, "oversize", 0).model;
    for (let i = 0; i < 5; i++) model = step(model, "more", 0).model;
    expect(model.limitBytes).toBe(FIRST_BATCH_BYTES / 2);
  });

  it("grows from the first batch to the largest, as long as all is well", () => {
    let model: Model = { ...START, state: "sending" };
    expect(model.limitBytes).toBe(FIRST_BATCH_BYTES);
    model = step(model, "more", 0).model;
    expect(model.limitBytes).toBe(BATCH_BYTES);
    expect(step(model, "more", 0).model.limitBytes).toBe(BATCH_BYTES);
  });

  it("calls it stalled after the third answer that moved nothing", () => {
    let model: Model = { ...START, state: "sending" };
    const heard: string[] = [];
    for (let i = 0; i < SAME_LIMIT; i++) {
      const event = judge(model, "a", "a", true);
      heard.push(event);
      model = { ...step(model, event, 0).model, state: "sending" };
    }
    expect(heard).toEqual(["same", "same", "stalled"]);
    expect(judge(model, "a", "b", true)).toBe("more");
    expect(judge(model, "a", "a", false)).toBe("done");
  });
});
