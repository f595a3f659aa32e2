import { app, isLocked } from "./app";

/** Puts a file where the browser keeps what is downloaded. */
export function saveFile(blob: Blob, name: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  // the browser needs the address until the file is written
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

/** Hands over every line that only this phone holds, as a file. Its bytes are the log's own. */
export async function exportUnsent(): Promise<void> {
  if (isLocked()) throw new Error("Unlock the phone first: while it is locked, its lines can't be read.");
  const blob = await app.log.exportLines();
  const stamp = new Date().toISOString().slice(0, 16).replace(/[:T]/g, "-");
  saveFile(blob, `chinrest-${app.log.device.value?.id.slice(0, 8) ?? "phone"}-${stamp}.ndjson`);
}
