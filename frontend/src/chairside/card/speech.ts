/** Speaking a phrase aloud, where the phone has a voice for its language. */
import { signal } from "@preact/signals";

export type Voice =
  | { kind: "here"; voice: SpeechSynthesisVoice }
  /** Its words go to a service of the browser's maker: useless without a network, and nothing to say there anyway. */
  | { kind: "elsewhere" }
  | { kind: "none" }
  | { kind: "absent" };

/** The best voice for a language: of this phone itself, its very tag before another of the same language. */
export function voiceFor(voices: readonly SpeechSynthesisVoice[], language: string): Voice {
  const tag = (text: string): string => text.replace("_", "-").toLowerCase();
  const first = tag(language).split("-")[0];
  const same = voices.filter((v) => tag(v.lang).split("-")[0] === first);
  const here = same.filter((v) => v.localService);
  const voice = here.find((v) => tag(v.lang) === tag(language)) ?? here.find((v) => v.default) ?? here[0];
  if (voice !== undefined) return { kind: "here", voice };
  return { kind: same.length > 0 ? "elsewhere" : "none" };
}

/** Browsers name their voices some time after the page has begun. */
const known = signal<SpeechSynthesisVoice[] | null>(null);
/** The text that is being spoken, or null. */
export const speaking = signal<string | null>(null);
/** Why the last try was silent, or null. */
export const silent = signal<string | null>(null);

const synthesis = (): SpeechSynthesis | null => ("speechSynthesis" in globalThis ? speechSynthesis : null);

export function voiceNow(language: string): Voice {
  const speaker = synthesis();
  if (speaker === null) return { kind: "absent" };
  if (known.value === null) {
    const read = (): void => {
      known.value = speaker.getVoices();
    };
    known.value = speaker.getVoices();
    speaker.addEventListener("voiceschanged", read);
  }
  return voiceFor(known.value, language);
}

export function speak(text: string, language: string, voice: SpeechSynthesisVoice): void {
  const speaker = synthesis();
  if (speaker === null) return;
  speaker.cancel();
  silent.value = null;
  const said = new SpeechSynthesisUtterance(text);
  said.lang = language;
  said.voice = voice;
  said.rate = 0.9; // a little slower than talk: a strange voice in a dark room (common practice, no source)
  said.onend = () => {
    speaking.value = null;
  };
  said.onerror = (event) => {
    speaking.value = null;
    if (event.error !== "canceled" && event.error !== "interrupted") {
      silent.value = "The phone could not speak it. Read it aloud, or show it.";
    }
  };
  speaking.value = text;
  speaker.speak(said);
}

export function hush(): void {
  synthesis()?.cancel();
  speaking.value = null;
}
