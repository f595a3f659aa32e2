import { useEffect, useState } from "preact/hooks";

/** The time, looked at again every so often, for 'since when' lines. */
export function useNow(everyMs: number): number {
  const [now, setNow] = useState(Date.now());
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), everyMs);
    return () => clearInterval(timer);
  }, [everyMs]);
  return now;
}
