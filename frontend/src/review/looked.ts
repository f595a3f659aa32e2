/** What came since this person last looked at the list, kept in this browser only. */

const key = (id: string) => `chinrest-desk-looked:${id}`;
let since: { id: string; at: number } | null = null;

/** The moment of the last look before this page was opened; 0 at the first look, so that nothing is called new. */
export function lookedBefore(id: string, now: number): number {
  if (since?.id !== id) {
    let kept = 0;
    try {
      kept = Number(localStorage.getItem(key(id)) ?? 0);
      localStorage.setItem(key(id), String(now));
    } catch {
      // storage is forbidden in this browser: then nothing is marked as new
    }
    since = { id, at: Number.isFinite(kept) && kept > 0 ? kept : Number.POSITIVE_INFINITY };
  }
  return since.at;
}
