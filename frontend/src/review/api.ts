/** Asks the server. Every answer is one of three, and each has its own words on the screen. */

import { signal } from "@preact/signals";
import type { Fault, Person } from "../types.gen";

export type Answer<T> =
  | { state: "ready"; value: T }
  | { state: "refused"; status: number; fault: Fault }
  | { state: "offline" };

/** undefined: not asked yet; null: nobody is signed in. */
export const person = signal<Person | null | undefined>(undefined);

/** Why the desk was closed to who sat at it, where that was no mere end of a session. */
export const ended = signal<Fault | null>(null);

const PATIENCE_MS = 20_000; // a server that accepts and never answers must not leave the page loading for ever

export async function ask<T>(path: string, init: RequestInit = {}): Promise<Answer<T>> {
  const headers = new Headers(init.headers);
  if (init.method && init.method !== "GET") headers.set("X-Chinrest", "1");
  let response: Response;
  let text: string;
  try {
    response = await fetch(path, { ...init, headers, signal: AbortSignal.timeout(PATIENCE_MS) });
    text = await response.text();
  } catch {
    return { state: "offline" }; // fetch rejects only when no answer came; the screen says so
  }
  if (response.ok) return { state: "ready", value: (text ? JSON.parse(text) : null) as T };
  const fault = faultOf(text, response.status);
  if (fault.code === "staff_withdrawn") ended.value = fault;
  if (response.status === 401 && person.value) person.value = null;
  return { state: "refused", status: response.status, fault };
}

export function post<T>(path: string, body?: unknown): Promise<Answer<T>> {
  return ask<T>(path, {
    method: "POST",
    ...(body === undefined
      ? {}
      : { body: JSON.stringify(body), headers: { "Content-Type": "application/json" } }),
  });
}

function faultOf(text: string, status: number): Fault {
  try {
    const said = JSON.parse(text) as Partial<Fault>;
    if (said.why) return { code: said.code ?? "unknown", where: said.where ?? "", why: said.why };
  } catch {
    // not our error shape: something between here and the server answered, and the status is all there is
  }
  return { code: "unknown", where: "", why: `The server answered with status ${status} and no reason.` };
}

export async function whoAmI(): Promise<Answer<Person>> {
  const answer = await ask<Person>("/api/session");
  if (answer.state === "ready") person.value = answer.value;
  else if (answer.state === "refused") person.value = null;
  return answer;
}

/** Takes note of an ended session, and of another role or site than before. */
export async function stillWho(): Promise<void> {
  const answer = await ask<Person>("/api/session");
  if (answer.state !== "ready" || !person.value) return;
  if (JSON.stringify(answer.value) !== JSON.stringify(person.value)) person.value = answer.value;
}

export async function signIn(name: string, password: string, code: string): Promise<Answer<Person>> {
  const answer = await post<Person>("/api/session", { name, password, code });
  if (answer.state === "ready") {
    person.value = answer.value;
    ended.value = null;
  }
  return answer;
}

export async function signOut(): Promise<Answer<null>> {
  const answer = await ask<null>("/api/session", { method: "DELETE" });
  if (answer.state === "ready") person.value = null;
  return answer;
}
