/** What the fake server unpacks with: the browser's own stream takes no second gzip member, as servers do. */
declare module "node:zlib" {
  export function gunzipSync(packed: Uint8Array): Uint8Array<ArrayBuffer>;
}
