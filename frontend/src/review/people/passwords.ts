/** What the server asks of a password, said while it is typed. */
export const LEAST_CHARACTERS = 10;
export const PASSWORD_HINT = `At least ${LEAST_CHARACTERS} characters. Three or four words that nobody would guess are easier to keep in mind than signs.`;

/** Why two typings of a new password will not do; nothing while they may still become right. */
export function newPasswordFault(first: string, second: string): string | undefined {
  if (!second || first.startsWith(second)) return undefined;
  return "The two are not the same.";
}

const long = (password: string): boolean => [...password].length >= LEAST_CHARACTERS;

/** Said once the first typing is over, since each is short at first. */
export function shortFault(first: string, second: string): string | undefined {
  return second && !long(first) ? "This is too short." : undefined;
}

export const newPasswordReady = (first: string, second: string): boolean => long(first) && first === second;
