/** What may be a PIN, and which names are the same person's. */

/** Any characters: six digits are the least, and a passphrase is better. */
export const PIN_LEAST = 6;
const PIN_MOST = 128;
const NAME_MOST = 40;

/** The same PIN, whichever keyboard typed it: NFKC, as NIST SP 800-63B says of memorised secrets. */
export function tidyPin(typed: string): string {
  return typed.normalize("NFKC").trim();
}

/** Names with the same key are the same person's, however they are typed. The server says the same of names that it
 * withdraws. */
export function nameKey(name: string): string {
  // upper case first: what lower case alone leaves apart (the sharp s, the last sigma) is one letter to the server too
  return name.normalize("NFC").toUpperCase().toLowerCase().normalize("NFC").trim();
}

export function nameFault(name: string): string | null {
  const tidy = name.trim();
  if (tidy === "") return "Say who it is for: initials or a staff id.";
  if (tidy.length > NAME_MOST || /\p{C}/u.test(tidy))
    return `A name has at most ${NAME_MOST} letters, on one line.`;
  return null;
}

/** 111111, 123456 or 987654: each character is the same as the one before it, or the next one up or down. */
function isRun(points: readonly number[]): boolean {
  const step = (points[1] ?? 0) - (points[0] ?? 0);
  return Math.abs(step) <= 1 && points.every((point, n) => n === 0 || point - (points[n - 1] ?? 0) === step);
}

/** Why this can't be somebody's PIN; null where it can. */
export function pinFault(typed: string, name: string): string | null {
  const points = Array.from(tidyPin(typed), (letter) => letter.codePointAt(0) ?? 0);
  if (points.length < PIN_LEAST) return `Too short: at least ${PIN_LEAST} digits. A passphrase is better.`;
  if (points.length > PIN_MOST) return `Too long: at most ${PIN_MOST} characters.`;
  if (isRun(points))
    return "Too easy to guess: not the same digit throughout, and none that follow each other.";
  if (nameKey(tidyPin(typed)) === nameKey(name)) return "Too easy to guess: not the name itself.";
  return null;
}
