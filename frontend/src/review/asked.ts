import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import { type Answer, ask } from "./api";

export interface Asked<T> {
  /** null while the first answer, or a newer one, is on its way. */
  answer: Answer<T> | null;
  /** The last good answer, kept on the screen while a newer one is on its way. */
  value: T | null;
  /** When it was asked for, in ms since 1970 by this machine's clock. */
  asOf: number;
  again: () => void;
}

/** Asks quietly again when `changes` grows: what is shown stands until the newer answer has come. */
export interface Following<T> {
  changes: number;
  /** Where only what came after this value is asked for; null is then the answer where nothing did. */
  after?: (value: T) => string;
}

/** Asks for a path, and again when the path (or `from`, a count of askings) changes. An answer that comes late to an older question is dropped. Null asks for nothing. */
export function useAsked<T>(path: string | null, from = 0, following?: Following<T>): Asked<T> {
  const [round, setRound] = useState(0);
  const [answer, setAnswer] = useState<Answer<T> | null>(null);
  const [value, setValue] = useState<T | null>(null);
  const [asOf, setAsOf] = useState(0);
  const again = useCallback(() => setRound((n) => n + 1), []);
  const ticket = useRef(0);
  const changes = following?.changes ?? 0;
  const covered = useRef(changes);
  useEffect(() => {
    const mine = ++ticket.current;
    covered.current = changes;
    setAnswer(null);
    if (path === null) return;
    const asked = Date.now();
    void ask<T>(path).then((got) => {
      if (mine !== ticket.current) return;
      setAnswer(got);
      if (got.state !== "ready") return;
      setValue(got.value);
      setAsOf(asked);
    });
    return () => {
      ticket.current += 1;
    };
  }, [path, round, from]);
  const waiting = answer === null;
  useEffect(() => {
    if (path === null || waiting || covered.current === changes) return;
    const mine = ++ticket.current;
    covered.current = changes;
    const after = value === null ? undefined : following?.after?.(value);
    const asked = Date.now();
    void ask<T | null>(after ?? path).then((got) => {
      if (mine !== ticket.current) return;
      if (got.state !== "ready") {
        setAnswer(got);
        return;
      }
      setAsOf(asked);
      if (got.value !== null) {
        setAnswer({ state: "ready", value: got.value });
        setValue(got.value);
      } else if (value !== null) setAnswer({ state: "ready", value });
    });
  }, [changes, waiting, path]);
  return { answer, value, asOf, again };
}
