import type { Pack } from "../types.gen";

/** Throws where the bytes are no UTF-8 or no JSON. */
export function parsePack(bytes: Uint8Array): Pack {
  return JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(bytes)) as Pack;
}
