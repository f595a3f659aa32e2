/** Enrolment: the phone makes its id and its signing key, and trades a one-time code for a token. */
import type { EnrolAnswer, EnrolRequest, Fault } from "../types.gen";
import { base64, sha256, uuid4 } from "./bytes";
import { tidyCode } from "./code";
import type { Meta } from "./db";
import { type Env, fetchWithin, readBody } from "./env";
import { json } from "./line";
import type { Store } from "./store";
import { readFault } from "./sync/fault";
import { signature } from "./sync/request";
import type { EnrolResult } from "./types";
import type { Writer } from "./writer";

export const ENROL_LOCK = "chinrest-enrol";
const ANSWER_LIMIT_MS = 20_000;

function fault(code: string, where: string, why: string): { ok: false; fault: Fault } {
  return { ok: false, fault: { code, where, why } };
}

/** ECDSA P-256; the private half can be used here but never read out. */
function makeKeys(): Promise<CryptoKeyPair> {
  return crypto.subtle.generateKey({ name: "ECDSA", namedCurve: "P-256" }, false, ["sign", "verify"]);
}

function isEnrolAnswer(value: unknown): value is EnrolAnswer {
  if (typeof value !== "object" || value === null) return false;
  const a = value as Record<string, unknown>;
  return (
    ["token", "site", "site_name", "server", "epoch"].every((key) => typeof a[key] === "string") &&
    typeof a.demo === "boolean"
  );
}

/** The id and keys to enrol with: this device's own if it has any, else those of a try whose answer was lost, else
 * new ones, kept before the server hears of them. A code is spent once: with a new id each time, a lost answer
 * would leave a phone without a token and a code that is used up. */
async function identity(store: Store): Promise<{ id: string; keys: CryptoKeyPair; enrolled: boolean }> {
  const [device, keys, pending] = await Promise.all([
    store.get("device"),
    store.get("keys"),
    store.get("pending"),
  ]);
  if (device && keys) return { id: device.id, keys, enrolled: true };
  if (pending) return { ...pending, enrolled: false };
  const made = { id: uuid4(), keys: await makeKeys() };
  await store.set("pending", made);
  return { ...made, enrolled: false };
}

/** `dataKey`: what `escrow` held; empty where none was sent. */
type Enrolled = { ok: true; dataKey: string } | Exclude<EnrolResult, { ok: true }>;

export async function enrol(
  env: Env,
  store: Store,
  writer: Writer,
  code: string,
  label: string,
  escrow = "",
): Promise<Enrolled> {
  return env.lock(ENROL_LOCK, false, async (): Promise<Enrolled> => {
    const { id, keys, enrolled } = await identity(store);
    const lock = await store.get("lock");
    // on a phone with PINs the full token never stands readable, whoever enrols it, locked or not
    const tokens = lock && (await import("./lock/tokens"));
    const [send, hide] = [tokens?.newToken() ?? "", lock && (await tokens?.readyToHide(lock))];
    const sendHash = send && (await sha256(send));
    const publicKey = base64(new Uint8Array(await crypto.subtle.exportKey("spki", keys.publicKey)));
    const tidy = tidyCode(code);
    const proof = await signature(keys, `chinrest enrol ${tidy} ${id}`);
    let answer: Awaited<ReturnType<typeof fetchWithin>>;
    try {
      answer = await fetchWithin(env, ANSWER_LIMIT_MS, "/api/enrol", {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: json({
          code: tidy,
          device: id,
          public_key: publicKey,
          label,
          escrow,
          send_token_sha256: sendHash,
          proof,
        } satisfies EnrolRequest),
        cache: "no-store",
        credentials: "omit",
      });
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      return fault("no_answer", "network", `The server can't be reached (${why}). Enrolling needs it once.`);
    }
    if (answer.status !== 200 && answer.status !== 201) {
      return { ok: false, fault: readFault(answer.status, answer.body) };
    }
    const said = readBody(answer.body).value;
    if (!isEnrolAnswer(said)) {
      return fault("not_an_answer", "server", "What answered is not the clinic's server.");
    }
    const carrying = said.carrying_key ?? null;
    const device: Meta["device"] = {
      id,
      label,
      site: said.site,
      siteName: said.site_name,
      server: said.server,
      epoch: said.epoch,
      demo: said.demo,
      serverKey: said.server_key ?? "",
      finalKey: said.final_key ?? "",
      enrolledAt: env.now(),
      // an older server took no other
      ...(hide && said.send_token ? { token: send, full: await hide(said.token) } : { token: said.token }),
    };
    const done = { ok: true as const, dataKey: said.data_key ?? "" };
    if (enrolled) {
      await store.renew(device, carrying);
      return done;
    }
    const fields = { public_key: publicKey, label, site: said.site };
    const draft = {
      type: "device.enrolled",
      fields,
      case: null,
      practice: false,
      pack: null,
      actor: null,
      seen: null,
    };
    // token, keys and the chain's first line in one transaction: there is no device without its first line
    await writer.append(id, draft, { device, keys, carrying });
    return done;
  });
}
