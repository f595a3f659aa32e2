import "fake-indexeddb/auto";
import { afterEach, describe, expect, it, vi } from "vitest";
import type { Recall } from "../types.gen";
import { sha256Of } from "./prove";
import { openShelf } from "./shelf";
import type { Shelf, Verdict } from "./types";

// The kernels have their own tests; here it only counts that their word is asked and heeded.
const checkVectors = vi.hoisted(() => vi.fn<(pack: unknown) => string[]>(() => []));
vi.mock("../kernel", () => ({ checkVectors }));

const lists = ["cautions", "sites", "optics", "stages", "steps", "fields"];
const parts = ["faces", "limits", "pupil", "touch", "choices", "phrases", "thresholds", "emergency"];

async function made(
  version: string,
  change: Record<string, unknown> = {},
): Promise<{ sha: string; bytes: Uint8Array }> {
  const pack = {
    format: 1,
    version,
    ...Object.fromEntries(lists.map((key) => [key, []])),
    ...Object.fromEntries(parts.map((key) => [key, {}])),
    fit_vectors: [{}, {}],
    ...change,
  };
  const bytes = new TextEncoder().encode(JSON.stringify(pack));
  return { sha: await sha256Of(bytes), bytes };
}

let shelves: Shelf[] = [];
let count = 0;
const name = (): string => `shelf-${count++}`;
async function open(database: string): Promise<Shelf> {
  const shelf = await openShelf(database);
  shelves.push(shelf);
  return shelf;
}
afterEach(() => {
  for (const shelf of shelves) shelf.close();
  shelves = [];
  checkVectors.mockReset();
  checkVectors.mockImplementation(() => []);
});
const give =
  (bytes: Uint8Array): (() => Promise<Uint8Array>) =>
  async () =>
    bytes;

describe("a pack that is offered", () => {
  it("is proved, kept, and waits until the change-over", async () => {
    const database = name();
    const shelf = await open(database);
    const verdicts: Verdict[] = [];
    shelf.onVerdict((verdict) => verdicts.push(verdict));
    const { sha, bytes } = await made("1");
    await shelf.offer(sha, give(bytes));
    expect(checkVectors).toHaveBeenCalledTimes(1);
    expect(shelf.current.value).toBeNull();
    expect(shelf.waiting.value?.pack.version).toBe("1");
    expect(verdicts).toEqual([{ taken: true, sha256: sha, vectors: 2 }]);
    await shelf.changeOver();
    expect(shelf.current.value?.sha256).toBe(sha);
    expect(shelf.waiting.value).toBeNull();
    const again = await open(database);
    expect(again.current.value?.sha256).toBe(sha);
  });

  it("is fetched once, however often it is named", async () => {
    const shelf = await open(name());
    const { sha, bytes } = await made("1");
    const fetched = vi.fn(give(bytes));
    await Promise.all([shelf.offer(sha, fetched), shelf.offer(sha, fetched)]);
    await shelf.offer(sha, fetched);
    await shelf.changeOver();
    await shelf.offer(sha, fetched);
    expect(fetched).toHaveBeenCalledTimes(1);
  });

  it("stays away while the old one guides, and the old one is still found by its hash", async () => {
    const shelf = await open(name());
    const [one, two] = [await made("1"), await made("2")];
    await shelf.offer(one.sha, give(one.bytes));
    await shelf.changeOver();
    await shelf.offer(two.sha, give(two.bytes));
    expect(shelf.current.value?.pack.version).toBe("1");
    await shelf.changeOver();
    await shelf.tidy([one.sha]);
    expect((await shelf.packFor(one.sha))?.pack.version).toBe("1");
    await shelf.tidy([]);
    expect(await shelf.packFor(one.sha)).toBeNull();
    expect(shelf.current.value?.pack.version).toBe("2");
  });

  it("waits no longer when the server has gone back to the one in use", async () => {
    const shelf = await open(name());
    const [one, two] = [await made("1"), await made("2")];
    await shelf.offer(one.sha, give(one.bytes));
    await shelf.changeOver();
    await shelf.offer(two.sha, give(two.bytes));
    await shelf.offer(one.sha, give(one.bytes));
    expect(shelf.waiting.value).toBeNull();
    await shelf.offer(two.sha, () => Promise.reject(new Error("it is here already")));
    expect(shelf.waiting.value?.sha256).toBe(two.sha);
  });
});

describe("a pack that can't be taken", () => {
  const refusals: [string, Record<string, unknown>, RegExp][] = [
    ["of a format that this app doesn't read", { format: 2 }, /format 2.*Update the app/],
    ["with a part missing", { limits: null }, /'limits' is missing/],
    ["with a list that is none", { steps: {} }, /'steps' is missing or is no list/],
  ];
  it.each(refusals)("%s is refused in words, and the old one stays", async (_, change, words) => {
    const shelf = await open(name());
    const old = await made("1");
    await shelf.offer(old.sha, give(old.bytes));
    await shelf.changeOver();
    const bad = await made("2", change);
    await shelf.offer(bad.sha, give(bad.bytes));
    expect(shelf.current.value?.sha256).toBe(old.sha);
    expect(shelf.waiting.value).toBeNull();
    expect(shelf.refused.value).toMatchObject([{ sha256: bad.sha }]);
    expect(shelf.refused.value[0]?.faults.join()).toMatch(words);
    expect(await shelf.packFor(bad.sha)).toBeNull();
  });

  it("with one wrong vector is refused with what the kernel says; a newer app tries once more", async () => {
    const database = name();
    const shelf = await open(database);
    const verdicts: Verdict[] = [];
    shelf.onVerdict((verdict) => verdicts.push(verdict));
    const { sha, bytes } = await made("1");
    checkVectors.mockImplementation(() => ["head position, check 1: the clearance (mm) differs"]);
    const fetched = vi.fn(give(bytes));
    await shelf.offer(sha, fetched);
    await shelf.offer(sha, fetched);
    expect(fetched).toHaveBeenCalledTimes(1);
    expect(verdicts).toEqual([
      { taken: false, sha256: sha, faults: ["head position, check 1: the clearance (mm) differs"] },
    ]);
    const later = await open(database);
    expect(later.refused.value).toHaveLength(1);
    await later.offer(sha, fetched);
    expect(later.refused.value).toHaveLength(1);
    checkVectors.mockImplementation(() => []);
    const newer = await open(database);
    await newer.offer(sha, fetched);
    expect(newer.waiting.value?.sha256).toBe(sha);
    expect(newer.refused.value).toEqual([]);
  });

  it("that came damaged is refused, and fetched again with the next answer", async () => {
    const shelf = await open(name());
    const { sha, bytes } = await made("1");
    await shelf.offer(sha, give(bytes.slice(0, -1)));
    expect(shelf.refused.value[0]?.faults[0]).toMatch(/changed or cut on its way/);
    expect(checkVectors).not.toHaveBeenCalled();
    await shelf.offer(sha, give(bytes));
    expect(shelf.waiting.value?.sha256).toBe(sha);
    expect(shelf.refused.value).toEqual([]);
  });

  it("that can't be fetched is an error of the network, and no verdict", async () => {
    const shelf = await open(name());
    const { sha, bytes } = await made("1");
    await expect(shelf.offer(sha, () => Promise.reject(new TypeError("no network")))).rejects.toThrow(
      "no network",
    );
    expect(shelf.refused.value).toEqual([]);
    await shelf.offer(sha, give(bytes));
    expect(shelf.waiting.value?.sha256).toBe(sha);
  });
});

describe("a recall", () => {
  const recallOf = (sha256: string, at = 5): Recall => ({ sha256, why: "wrong margin", at });

  it("of the pack in use shows at once, after a reload too, and also for a case on an older one", async () => {
    const database = name();
    const shelf = await open(database);
    const { sha, bytes } = await made("1");
    await shelf.offer(sha, give(bytes));
    await shelf.changeOver();
    await shelf.recalls([recallOf(sha), recallOf("older")]);
    expect(shelf.recall.value?.why).toBe("wrong margin");
    expect(shelf.recalled.value.get("older")?.at).toBe(5);
    expect((await open(database)).recall.value?.sha256).toBe(sha);
  });

  it("of a waiting pack keeps it from taking over, also when it is offered anew", async () => {
    const shelf = await open(name());
    const { sha, bytes } = await made("1");
    await shelf.offer(sha, give(bytes));
    await shelf.recalls([recallOf(sha)]);
    await shelf.changeOver();
    expect(shelf.current.value).toBeNull();
    await shelf.offer(sha, give(bytes));
    await shelf.recalls([recallOf(sha)]); // the same recall, told with every answer
    expect(shelf.waiting.value).toBeNull();
  });
});
