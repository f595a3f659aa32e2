/** Writing a line and saying so: the tick on the screen follows the disk, never the tap. */
import { signal } from "@preact/signals";
import { AppendError, type Saved } from "../log";
import type { BodyOf } from "../types.gen";
import { actor, app, packInUse } from "./app";

/** The last line that reached the disk, for the tick in the header. */
export const lastSaved = signal<{ at: number } | null>(null);

/** Why the last line was not saved, in words, until it is put away. */
export const saveTrouble = signal<string | null>(null);

/** True while a line is on its way to the disk. */
export const saving = signal(0);

/**
 * Appends one line. Resolves once it is durably on this phone, or to null when it is not; then the reason is already
 * on the screen, and what was entered must stay where it is.
 *
 * A line of a case names the pack that guides it here, which is another than it began with where that one is not on
 * this phone.
 */
export async function record<T extends keyof BodyOf>(
  type: T,
  body: Omit<BodyOf[T], "salt">,
  where: { case: string | null; practice?: boolean; pack?: string | null },
): Promise<Saved | null> {
  saving.value += 1;
  try {
    const of = where.case === null ? undefined : app.log.caseOf(where.case);
    const pack = of ? packInUse(of) : null;
    const saved = await app.log.append(type, body, { actor: actor.value, pack, ...where });
    lastSaved.value = { at: saved.at };
    saveTrouble.value = null;
    return saved;
  } catch (error) {
    if (!(error instanceof AppendError)) throw error;
    saveTrouble.value = error.message;
    return null;
  } finally {
    saving.value -= 1;
  }
}
