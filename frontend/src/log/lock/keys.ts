/** The keys of a locked phone as they are stored, and as they are once somebody has unlocked it. The log asks by this
 * file alone. Who may try when is `tries.ts`; what is encrypted by them is `rows.ts`. */

import { base64, fromBase64, randomBytes, utf8 } from "../bytes";
import { seal } from "../carry/hpke";
import { ifOpened } from "./failed";
import { CURVE } from "./open";
import { nameKey, tidyPin } from "./pin";
import { NO_TRIES, type Tries } from "./tries";
import { dataKeyOf, IV_BYTES, newDataKey, ROUNDS, textOf, unwrapped, type Wrap, wrapped } from "./wrap";

const ESCROW_INFO = utf8("chinrest data key 1");
const PRIVATE_AAD = utf8("chinrest private key 1");
const LOCK_VERSION = 1;

export interface Person {
  name: string;
  wrap: Wrap;
  tries: Tries;
}

/** What stands on the phone and needs no PIN to be read: names, and keys that only a PIN or the server opens. */
export interface LockKeys {
  v: number;
  device: string;
  people: Person[];
  /** Names of those who were withdrawn, so that the phone can say so. */
  gone: string[];
  /** What lines are sealed for while nobody has unlocked: SPKI in base64. */
  publicKey: string;
  /** Its other half (PKCS #8), encrypted by the data key: base64. */
  privateKey: { iv: string; key: string };
  /** The data key, sealed for the server, which gives it back to this phone by a new enrolment code. */
  escrow: string;
  /** The server's key, SPKI in base64, as it was proved when the first PIN was set. */
  sealKey: string;
}

/** In memory only, while the phone is unlocked. */
export interface Opened {
  dataKey: CryptoKey;
  /** The phone's own pair: opens what was sealed while it was locked. */
  pair: CryptoKeyPair;
}

function ownerOf(device: string, name: string): string {
  return `${device}\n${nameKey(name)}`;
}

async function wrapOf(dataKey: CryptoKey, device: string, name: string, pin: string, rounds?: number) {
  return wrapped(dataKey, tidyPin(pin), ownerOf(device, name), rounds);
}

function privateWrap(iv: Uint8Array<ArrayBuffer>): AesGcmParams {
  return { name: "AES-GCM", iv, additionalData: PRIVATE_AAD };
}

async function pairOf(keys: LockKeys, dataKey: CryptoKey): Promise<CryptoKeyPair | null> {
  const how = privateWrap(fromBase64(keys.privateKey.iv));
  const privateKey = await ifOpened(
    crypto.subtle.unwrapKey("pkcs8", fromBase64(keys.privateKey.key), dataKey, how, CURVE, false, [
      "deriveBits",
    ]),
  );
  if (!privateKey) return null;
  const publicKey = await crypto.subtle.importKey("spki", fromBase64(keys.publicKey), CURVE, true, []);
  return { privateKey, publicKey };
}

async function escrowOf(dataKey: CryptoKey, device: string, sealKey: string): Promise<string> {
  return base64(await seal(sealKey, ESCROW_INFO, utf8(`${device}\t${await textOf(dataKey)}`)));
}

/** For a server with another key: what is sealed from now on is for that one. */
export async function keysFor(sealKey: string, keys: LockKeys, { dataKey }: Opened): Promise<LockKeys> {
  return { ...keys, sealKey, escrow: await escrowOf(dataKey, keys.device, sealKey) };
}

/** New keys, with the first person's PIN. `sealKey`: the server's, proved (SPKI in base64). */
export async function newKeys(
  device: string,
  sealKey: string,
  name: string,
  pin: string,
  rounds: number = ROUNDS,
): Promise<{ keys: LockKeys; opened: Opened }> {
  const dataKey = await newDataKey();
  const made = await crypto.subtle.generateKey(CURVE, true, ["deriveBits"]);
  const iv = randomBytes(IV_BYTES);
  const [spki, hidden, wrap, escrow] = await Promise.all([
    crypto.subtle.exportKey("spki", made.publicKey),
    crypto.subtle.wrapKey("pkcs8", made.privateKey, dataKey, privateWrap(iv)),
    wrapOf(dataKey, device, name, pin, rounds),
    escrowOf(dataKey, device, sealKey),
  ]);
  const keys: LockKeys = {
    v: LOCK_VERSION,
    device,
    people: [{ name: name.trim(), wrap, tries: NO_TRIES }],
    gone: [],
    publicKey: base64(new Uint8Array(spki)),
    privateKey: { iv: base64(iv), key: base64(new Uint8Array(hidden)) },
    escrow,
    sealKey,
  };
  const pair = await pairOf(keys, dataKey);
  if (!pair) throw new Error("the new keys do not open");
  return { keys, opened: { dataKey, pair } };
}

export function personOf(keys: LockKeys, name: string): Person | null {
  const wanted = nameKey(name);
  return keys.people.find((person) => nameKey(person.name) === wanted) ?? null;
}

/** Null where the PIN is not that person's, or nobody has that name. Whoever asks counts the try first. */
export async function unlocked(keys: LockKeys, name: string, pin: string): Promise<Opened | null> {
  const person = personOf(keys, name);
  if (!person) return null;
  const dataKey = await unwrapped(person.wrap, tidyPin(pin), ownerOf(keys.device, name));
  return dataKey && openedBy(keys, dataKey);
}

async function openedBy(keys: LockKeys, dataKey: CryptoKey): Promise<Opened | null> {
  const pair = await pairOf(keys, dataKey);
  return pair && { dataKey, pair };
}

/** By what the server gave back of the escrow (base64); null where it is the key of something else. */
export async function openedByServer(keys: LockKeys, given: string): Promise<Opened | null> {
  const dataKey = await ifOpened(dataKeyOf(given));
  return dataKey && openedBy(keys, dataKey);
}

/** Somebody with this PIN, and no wrong tries yet. */
export async function newPerson(
  keys: LockKeys,
  { dataKey }: Opened,
  name: string,
  pin: string,
  rounds: number = ROUNDS,
): Promise<Person> {
  return { name: name.trim(), wrap: await wrapOf(dataKey, keys.device, name, pin, rounds), tries: NO_TRIES };
}

/** With this person, in place of whoever had the name. */
export function withPerson(keys: LockKeys, person: Person): LockKeys {
  const wanted = nameKey(person.name);
  const gone = keys.gone.filter((name) => nameKey(name) !== wanted);
  return { ...keys, people: [...withoutPeople(keys, [person.name]).people, person], gone };
}

/** Without these: their PINs open the phone no longer. It may be all of them: then only the server helps. */
export function withoutPeople(keys: LockKeys, names: readonly string[]): LockKeys {
  const out = new Set(names.map(nameKey));
  const isOut = ({ name }: Person): boolean => out.has(nameKey(name));
  const gone = [...keys.gone, ...keys.people.filter(isOut).map(({ name }) => name)];
  return { ...keys, people: keys.people.filter((person) => !isOut(person)), gone };
}

export function withTries(keys: LockKeys, name: string, tries: Tries): LockKeys {
  const wanted = nameKey(name);
  const people = keys.people.map((person) =>
    nameKey(person.name) === wanted ? { ...person, tries } : person,
  );
  return { ...keys, people };
}
