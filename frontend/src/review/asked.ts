import { useCallback, useEffect, useState } from "preact/hooks";
import { type Answer, ask } from "./api";

export interface Asked<T> {
  /** null while the first answer, or a newer one, is on its way. */
  answer: Answer<T> | null;
  /** The last good answer, kept on the screen while a newer one is on its way. */
  value: T | null;
  again: () => void;
}

/** Asks for a path, and again when the path (or `from`, a count of askings) changes. An answer that comes late to an older question is dropped. Null asks for nothing. */
export function useAsked<T>(path: string | null, from = 0): Asked<T> {
  const [round, setRound] = useState(0);
  const [answer, setAnswer] = useState<Answer<T> | null>(null);
  const [value, setValue] = useState<T | null>(null);
  const again = useCallback(() => setRound((n) => n + 1), []);
  useEffect(() => {
    let wanted = true;
    setAnswer(null);
    if (path === null) return;
    void ask<T>(path).then((got) => {
      if (!wanted) return;
      setAnswer(got);
      if (got.state === "ready") setValue(got.value);
    });
    return () => {
      wanted = false;
    };
  }, [path, round, from]);
  return { answer, value, again };
}
