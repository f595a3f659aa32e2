import { useState } from "preact/hooks";
import { type Answer, post } from "../api";

/** Sends what a form holds, once at a time. `done` hears of what was taken. */
export function usePost<T>(done: (value: T) => void) {
  const [answer, setAnswer] = useState<Answer<T> | null>(null);
  const [busy, setBusy] = useState(false);
  const send = async (path: string, body: unknown) => {
    setBusy(true);
    const got = await post<T>(path, body);
    setBusy(false);
    setAnswer(got);
    if (got.state === "ready") done(got.value);
  };
  return { answer, busy, send };
}
