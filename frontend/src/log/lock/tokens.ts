/** The tokens of a phone with PINs. The one that stands readable may only send; the full one is sealed for the phone's
 * own key, as lines are that a locked phone writes: it can be had locked or not, and is opened unlocked. */
import { base64, fromBase64, randomBytes, utf8 } from "../bytes";
import { readySeal } from "../carry/hpke";
import type { Meta } from "../db";
import { ifOpened } from "./failed";
import type { LockKeys, Opened } from "./keys";
import { unseal } from "./open";

const INFO = utf8("chinrest token 1");
/** As many random bytes as in a server's own. */
const TOKEN_BYTES = 32;

export function newToken(): string {
  return base64(randomBytes(TOKEN_BYTES));
}

/** Made ahead of the request that the full token comes by: once it is there, little is left that could fail. */
export async function readyToHide({
  publicKey,
  device,
}: LockKeys): Promise<(full: string) => Promise<string>> {
  const seal = await readySeal(publicKey, INFO);
  return async (full) => base64(await seal(utf8(full), utf8(device)));
}

/** Null where none is hidden, or it does not open. */
export async function hiddenToken(
  { pair }: Opened,
  { id }: Pick<Meta["device"], "id">,
  hidden: string | undefined,
): Promise<string | null> {
  if (hidden === undefined) return null;
  const read = async (): Promise<string | null> => {
    const raw = await unseal(pair, INFO, fromBase64(hidden), utf8(id));
    return raw && new TextDecoder().decode(raw);
  };
  return ifOpened(read());
}
