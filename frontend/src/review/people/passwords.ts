/** What the server asks of a password, said while it is typed. */
export const LEAST_CHARACTERS = 10;
export const PASSWORD_HINT = `At least ${LEAST_CHARACTERS} characters: three or four words that nobody would guess are easier than signs.`;

/** Why two typings of a new password will not do; nothing while they may still become right. */
export function newPasswordFault(first: string, second: string): string | undefined {
  if (!second || first.startsWith(second)) return undefined;
  return "The two are not the same.";
}

export const newPasswordReady = (first: string, second: string): boolean =>
  [...first].length >= LEAST_CHARACTERS && first === second;
