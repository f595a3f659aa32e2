/** Names for ids, out of the pack that the line was written under: the words that the photographer saw. */

import { signal } from "@preact/signals";
import { planName, protocolName, windowName } from "../pack";
import type { Choices, Pack } from "../types.gen";
import { ask } from "./api";
import { plain, sentence } from "./words";

type ListName = Exclude<keyof Choices, "harm_scale">;

const packs = signal<ReadonlyMap<string, Pack | null>>(new Map());
const asked = new Set<string>();

/** The pack when it is here; asks for it once otherwise, and the screen follows the signal. */
export function packOf(sha256: string | null): Pack | null {
  if (!sha256) return null;
  if (!asked.has(sha256)) {
    asked.add(sha256);
    void fetchPack(sha256);
  }
  return packs.value.get(sha256) ?? null;
}

/** Whether the server has answered for it, with the pack or without. */
export const packAnswered = (sha256: string): boolean => packs.value.has(sha256);

async function fetchPack(sha256: string): Promise<void> {
  const answer = await ask<Pack>(`/api/packs/${encodeURIComponent(sha256)}`);
  if (answer.state === "offline") asked.delete(sha256); // so that a later look tries again
  packs.value = new Map(packs.value).set(sha256, answer.state === "ready" ? answer.value : null);
}

export interface Names {
  choice(list: ListName, id: string): string;
  choices(list: ListName, ids: string[]): string;
  optic(id: string | null | undefined): string;
  step(id: string | null | undefined): string;
  field(id: string): string;
  dye(id: string): string;
  question(id: string): string;
  answer(question: string, id: string): string;
  sign(id: string): string;
  action(id: string): string;
  site(id: string): string;
  protocol(id: string): string;
  window(protocol: string, id: string): string;
  plan(id: string): string;
}

const reactionWord = (pack: Pack | null, list: "signs" | "actions", id: string): string | undefined =>
  (pack as { reaction?: Record<string, { id: string; text: string }[]> | null } | null)?.reaction?.[
    list
  ]?.find((one) => one.id === id)?.text;

/** Without a pack, or where the pack doesn't know an id, the id itself is shown, made readable. */
export function namesFrom(pack: Pack | null): Names {
  const choice = (list: ListName, id: string): string =>
    pack?.choices[list].find((c) => c.id === id)?.text ?? plain(id);
  const question = (id: string) => pack?.screening?.find((q) => q.id === id);
  return {
    choice,
    choices: (list, ids) => ids.map((id) => choice(list, id)).join("; "),
    optic: (id) => (id ? (pack?.optics.find((o) => o.id === id)?.name ?? plain(id)) : "none"),
    step: (id) => (id ? (pack?.steps.find((s) => s.id === id)?.text ?? plain(id)) : "none"),
    field: (id) => pack?.fields.find((f) => f.id === id)?.name ?? plain(id),
    dye: (id) => pack?.dyes?.find((d) => d.id === id)?.name ?? sentence(plain(id)),
    question: (id) => question(id)?.text ?? sentence(plain(id)),
    answer: (of, id) => question(of)?.answers.find((a) => a.id === id)?.text ?? plain(id),
    sign: (id) => reactionWord(pack, "signs", id) ?? choice("signs", id),
    action: (id) => reactionWord(pack, "actions", id) ?? sentence(plain(id)),
    protocol: (id) => protocolName(pack, id),
    window: (protocol, id) => windowName(pack, protocol, id),
    plan: (id) => planName(pack, id),
    site: (id) => pack?.sites.find((s) => s.id === id)?.name ?? plain(id),
  };
}

export const packVersion = (sha256: string | null): string => {
  if (!sha256) return "no pack";
  const pack = packOf(sha256);
  return pack ? `pack ${pack.version} (${sha256.slice(0, 8)})` : `pack ${sha256.slice(0, 8)}`;
};
