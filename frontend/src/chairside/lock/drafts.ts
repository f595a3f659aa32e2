/** What is half entered on a phone with PINs: in memory as it is, in the browser's store encrypted by the data key, and
 * under names that say nothing. */
import type { Lock } from "../../log";
import { type DraftStore, IN_THE_CLEAR } from "../drafts";

const PREFIX = "chinrest-sealed-draft:";

interface Draft {
  /** Under which name it is stored. */
  name: string;
  text: string;
}

/** As it is before it is encrypted. `at`: the later of two tabs' stands. */
interface Kept {
  key: string;
  text: string;
  at: number;
}

function newName(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return PREFIX + Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export class HiddenDrafts implements DraftStore {
  private readonly drafts = new Map<string, Draft>();
  private readonly dirty = new Set<string>();
  private writing: Promise<void> = Promise.resolve();

  /** What stands in the clear is taken in, and stands there no longer. */
  constructor(
    private readonly lock: Pick<Lock, "hidden" | "shown">,
    clear: DraftStore = IN_THE_CLEAR,
  ) {
    try {
      for (const key of clear.keys()) {
        const text = clear.read(key);
        if (text !== null) this.write(key, text);
        clear.drop(key);
      }
    } catch {
      // no store, so there is nothing in the clear
    }
  }

  read(key: string): string | null {
    return this.drafts.get(key)?.text ?? null;
  }

  keys(): string[] {
    return [...this.drafts.keys()];
  }

  write(key: string, text: string): void {
    this.drafts.set(key, { name: this.drafts.get(key)?.name ?? newName(), text });
    this.soon(key);
  }

  drop(key: string): void {
    const draft = this.drafts.get(key);
    this.drafts.delete(key);
    if (draft) localStorage.removeItem(draft.name);
  }

  /** Once the phone is unlocked: what was kept before can be read again, and what came up since is kept too. */
  async open(): Promise<void> {
    const since = new Set(this.drafts.keys());
    const newest = new Map<string, number>();
    for (const name of Object.keys(localStorage).filter((one) => one.startsWith(PREFIX))) {
      const text = await this.lock.shown(localStorage.getItem(name) ?? "");
      const kept = text === null ? null : (JSON.parse(text) as Kept);
      if (!kept || since.has(kept.key) || (newest.get(kept.key) ?? -1) >= kept.at) continue;
      newest.set(kept.key, kept.at);
      this.drafts.set(kept.key, { name, text: kept.text });
    }
    for (const key of since) this.soon(key);
  }

  /** Resolves once all that was written is kept. */
  async flush(): Promise<void> {
    await this.writing;
  }

  private soon(key: string): void {
    if (this.dirty.has(key)) return; // the write that waits takes the newest text
    this.dirty.add(key);
    this.writing = this.writing.then(() => this.keep(key)).catch(() => undefined); // a full store: the entry still holds until the page is left
  }

  private async keep(key: string): Promise<void> {
    this.dirty.delete(key);
    const draft = this.drafts.get(key);
    if (!draft) return;
    const kept: Kept = { key, text: draft.text, at: Date.now() };
    const hidden = await this.lock.hidden(JSON.stringify(kept));
    // locked, it stays in memory; and it may have been dropped meanwhile
    if (hidden !== null && this.drafts.get(key)?.name === draft.name)
      localStorage.setItem(draft.name, hidden);
  }
}
