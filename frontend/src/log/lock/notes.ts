/** Short texts that the screens keep beside the lines, encrypted by the data key. */
import { base64, fromBase64, randomBytes, utf8 } from "../bytes";
import { ifOpened } from "./failed";
import type { Opened } from "./keys";
import { IV_BYTES } from "./wrap";

const AAD = utf8("chinrest note 1");

function how(iv: Uint8Array<ArrayBuffer>): AesGcmParams {
  return { name: "AES-GCM", iv, additionalData: AAD };
}

/** In base64, the nonce first. */
export async function hideText({ dataKey }: Opened, text: string): Promise<string> {
  const iv = randomBytes(IV_BYTES);
  const sealed = new Uint8Array(await crypto.subtle.encrypt(how(iv), dataKey, utf8(text)));
  const whole = new Uint8Array(IV_BYTES + sealed.length);
  whole.set(iv);
  whole.set(sealed, IV_BYTES);
  return base64(whole);
}

/** Null where it was changed, or is of another key. */
export async function showText({ dataKey }: Opened, hidden: string): Promise<string | null> {
  const opened = async (): Promise<string> => {
    const whole = fromBase64(hidden);
    const [iv, sealed] = [whole.slice(0, IV_BYTES), whole.slice(IV_BYTES)];
    return new TextDecoder().decode(await crypto.subtle.decrypt(how(iv), dataKey, sealed));
  };
  return ifOpened(opened());
}
