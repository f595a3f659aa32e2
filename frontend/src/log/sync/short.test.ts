import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { sha256, uuid4, uuid7 } from "../bytes";
import { type Head, json, NO_HEAD, nextLine } from "../line";
import { restored } from "../testing/restored";
import { shortened } from "./short";

const [vectors = []] = Object.values(
  import.meta.glob<{ what: string; lines: string[]; short: string[] | null }[]>(
    "../../../../fixtures/formats/short-v1.json",
    { import: "default", eager: true },
  ),
);
const DEVICE = uuid4();
const STAMP = { mono: 1, boot: "b", practice: false, pack: null };

/** A run of a chain, as this app writes it. */
async function run(of: readonly Written[], head: Head = NO_HEAD): Promise<string[]> {
  const lines: string[] = [];
  let last = head;
  for (const { at, actor, type, after, body } of of) {
    const stamp = { ...STAMP, id: uuid7(at), at, actor, case: "c1", type, ...(after ? { after } : {}) };
    const text = json(body);
    const next = await nextLine(DEVICE, last, stamp, text, await sha256(text));
    last = next.head;
    lines.push(next.raw);
  }
  return lines;
}

interface Written {
  at: number;
  actor: string | null;
  type: string;
  after: number | null;
  body: object;
}

const anything: fc.Arbitrary<Written> = fc.record({
  at: fc.integer({ min: 0, max: 2 ** 47 }),
  actor: fc.option(fc.string({ unit: "binary", maxLength: 12 })),
  type: fc.constantFrom("step.done", "balloon.released"),
  after: fc.option(fc.integer({ min: 1, max: 2 ** 47 })),
  body: fc.dictionary(fc.string({ unit: "binary", maxLength: 8 }), fc.jsonValue(), { maxKeys: 5 }),
});
const head = fc.record({
  seq: fc.integer({ min: 0, max: 10 ** 15 - 10 }),
  sha256: fc.stringMatching(/^[0-9a-f]{64}$/),
});

describe("lines in short form", () => {
  it("are those that the standard library codes by the description", () => {
    expect(vectors.length).toBeGreaterThan(10);
    for (const { what, lines, short } of vectors) {
      expect({ what, short: shortened(lines) }).toEqual({ what, short });
    }
  });

  it("come back as the very lines", async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(anything, { maxLength: 6 }), head, async (written, from) => {
        const lines = await run(written, from);
        const short = shortened(lines);
        expect(short).not.toBeNull();
        expect(await restored(short ?? [])).toEqual(lines);
      }),
    );
  });

  it("are given for one run only, whatever else it is", async () => {
    const lines = await run(fc.sample(anything, { numRuns: 5, seed: 7 }));
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.oneof(fc.constantFrom(...lines), fc.string()), { minLength: 2, maxLength: 5 }),
        async (some) => {
          const from = lines.indexOf(some[0] ?? "");
          const isRun = from >= 0 && some.every((line, n) => line === lines[from + n]);
          const short = shortened(some);
          if (!isRun) expect(short).toBeNull();
          else expect(await restored(short ?? [])).toEqual(some);
        },
      ),
    );
  });
});
