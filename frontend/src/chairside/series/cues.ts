/** What tells the photographer that a frame comes, while both eyes are on the instrument: sound, vibration, speech. */
import { signal } from "@preact/signals";

export interface Cues {
  sound: boolean;
  vibration: boolean;
  speech: boolean;
}

const KEY = "chinrest-cues";
const ALL: Cues = { sound: true, vibration: true, speech: true };

function kept(): Cues {
  try {
    const read = JSON.parse(localStorage.getItem(KEY) ?? "null") as Partial<Cues> | null;
    const one = (name: keyof Cues): boolean => (typeof read?.[name] === "boolean" ? read[name] : ALL[name]);
    return { sound: one("sound"), vibration: one("vibration"), speech: one("speech") };
  } catch {
    return ALL; // damaged or forbidden: a cue too many is the safe side
  }
}

export const cues = signal<Cues>(kept());

export function setCues(change: Partial<Cues>): void {
  cues.value = { ...cues.value, ...change };
  try {
    localStorage.setItem(KEY, JSON.stringify(cues.value));
  } catch {
    // a full store: it holds until the page is closed
  }
  if (!cues.value.speech) hush();
}

/** What this browser can do at all, so that nobody waits for a sound that never comes. */
export const can = {
  sound: typeof AudioContext !== "undefined",
  vibration: typeof navigator !== "undefined" && typeof navigator.vibrate === "function",
  speech: typeof speechSynthesis !== "undefined",
};

/** False while the browser keeps sound back until the screen is touched. */
export const soundReady = signal(false);
let audio: AudioContext | null = null;

/** Asks for sound; a browser grants it only after a touch, so each touch asks again until it is there. */
export function readySound(): void {
  if (!can.sound || !cues.peek().sound || audio?.state === "running") return;
  audio ??= new AudioContext();
  const said = (): void => {
    soundReady.value = audio?.state === "running";
  };
  audio.onstatechange = said;
  // a refusal leaves it suspended, which the screen says; the next touch asks again
  audio.resume().then(said, said);
}

/** Seconds from now, Hz, how long. */
type Note = readonly [after_s: number, hertz: number, seconds: number];

const TONES = {
  soon: [[0, 660, 0.12]],
  now: [
    [0, 880, 0.14],
    [0.2, 880, 0.14],
  ],
  late: [
    [0, 520, 0.2],
    [0.3, 520, 0.2],
    [0.6, 520, 0.2],
  ],
} as const satisfies Record<string, readonly Note[]>;

const SHAKES = { soon: [120], now: [200, 100, 200], late: [400, 150, 400, 150, 400] } as const;

export type Cue = keyof typeof TONES;

/** Gives one cue by what is switched on; returns by what it was given, for the screen's own word on it. */
export function give(cue: Cue, words: string): void {
  const on = cues.peek();
  if (on.sound && audio?.state === "running") for (const note of TONES[cue]) play(audio, note);
  if (on.vibration && can.vibration) navigator.vibrate([...SHAKES[cue]]);
  if (on.speech && words !== "") say(words);
}

function play(on: AudioContext, [after_s, hertz, seconds]: Note): void {
  const tone = on.createOscillator();
  const loudness = on.createGain();
  const start = on.currentTime + after_s;
  tone.frequency.value = hertz;
  // fades at both ends: a bare edge clicks, and startles a patient
  loudness.gain.setValueAtTime(0, start);
  loudness.gain.linearRampToValueAtTime(0.25, start + 0.02);
  loudness.gain.setValueAtTime(0.25, start + seconds - 0.03);
  loudness.gain.linearRampToValueAtTime(0, start + seconds);
  tone.connect(loudness).connect(on.destination);
  tone.start(start);
  tone.stop(start + seconds);
}

/** Speaks; what was being said gives way, so that a countdown never runs behind. */
export function say(words: string): void {
  if (!can.speech) return;
  speechSynthesis.cancel();
  const spoken = new SpeechSynthesisUtterance(words);
  spoken.lang = "en";
  spoken.rate = 1.1;
  speechSynthesis.speak(spoken);
}

export function hush(): void {
  if (can.speech) speechSynthesis.cancel();
}
