/** A small server for tests, in memory: it does what the written contract says and no more. It checks hashes and
 * chains, keeps early lines waiting, leaves stubs for refused ones, and can be set back to an older state. */
import { gunzipSync } from "node:zlib";
import type { BackupWord, EnrolRequest, Envelope, Receipt, SyncAnswer, SyncHeader } from "../../types.gen";
import { base64, sha256, utf8 } from "../bytes";
import { envelopeText, FIRST_PREV, readLine } from "../line";
import { fromNumbers } from "../ranges";
import { backupText, receiptText } from "../sync/proof";
import { CarriedServer } from "./carriedServer";
import { restored } from "./restored";
import { isSigned, TokenDesk } from "./tokenDesk";

interface Kept {
  raw: string;
  id: string;
  device: string;
  seq: number;
  position: number;
  refused: boolean;
}

interface State {
  kept: Kept[];
  position: number;
}

/** How the next request goes wrong, once. */
export type Mischief =
  | { kind: "unreachable" }
  | { kind: "lose_answer" } // done, but nobody hears of it
  | { kind: "status"; status: number; code?: string; retryAfter?: string }
  | { kind: "hang" }
  | { kind: "portal" } // somebody else's page, with status 200
  | { kind: "cut" } // done, and half of the answer comes
  | { kind: "fine" } // it does not: one after it may
  | { kind: "meanwhile"; work: () => unknown } // nor does this one, but something else happens when it has come
  | { kind: "half" }; // answers for every other line only

const json = (status: number, value: unknown, headers: Record<string, string> = {}): Response =>
  new Response(JSON.stringify(value), { status, headers });

export class FakeServer {
  id = "server-1";
  /** For a hub: the final server that it relays to. */
  beyond: FakeServer | null = null;
  epoch = "epoch-1";
  kind: "final" | "hub" = "final";
  now = 1_000_000;
  maxBytes = 1024 * 1024;
  pack: string | null = null;
  reachable = true;
  /** False: an older one, which has never heard of lines in short form. */
  takesShort = true;
  withdrawn = false;
  /** Lines whose type is in here are refused. */
  readonly refuseTypes = new Set<string>();
  /** Names that no longer work at the site. */
  withdrawnPeople: string[] = [];
  readonly mischief: Mischief[] = [];
  readonly requests: SyncHeader[] = [];
  /** Of each of them, whether it came by a token that may only send. */
  readonly bySendOnly: boolean[] = [];
  /** Every line that came by a sync, each time it came. */
  readonly sentLines: string[] = [];
  /** Ids that an answer which was sent (heard or not) named as taken. */
  readonly acknowledged = new Set<string>();
  readonly desk = new TokenDesk();
  readonly tokens = this.desk.full;
  /** Everything asked of it but syncs: path, and whether by a token that may only send. */
  readonly asked: { path: string; sendOnly: boolean }[] = [];
  readonly keys = new Map<string, string>();
  code = "ABCD-2345";
  state: State = { kept: [], position: 0 };
  /** What the last backup holds; null before the first. */
  backedUp: State | null = null;
  /** Requests that get no answer until their time limit. */
  hanging = 0;
  /** Whether enrolment tells the key for files. */
  tellsCarryingKey = true;
  readonly carrying = new CarriedServer(this);
  private faked = 0;
  private turn: Promise<unknown> = Promise.resolve();
  /** Signs receipts and more. */
  readonly signing = crypto.subtle.generateKey({ name: "ECDSA", namedCurve: "P-256" }, true, [
    "sign",
    "verify",
  ]);

  snapshot(): State {
    return { kept: [...this.state.kept], position: this.state.position };
  }

  /** Back to an older state, as after a restore; `sameEpoch` as when somebody copied an old file back by hand. */
  restore(state: State, sameEpoch = false): void {
    this.state = { kept: [...state.kept], position: state.position };
    if (!sameEpoch) this.epoch = `epoch-${Number(this.epoch.slice(6)) + 1}`;
    if (this.backedUp) this.backedUp = this.snapshot();
  }

  backUp(): void {
    this.backedUp = this.snapshot();
  }

  lines(device: string): Kept[] {
    return this.state.kept.filter((line) => line.device === device).sort((a, b) => a.seq - b.seq);
  }

  readonly fetch = async (path: string, init: RequestInit): Promise<Response> => {
    if (!this.reachable) throw new TypeError("fetch failed");
    const trick = path === "/api/sync" ? this.mischief.shift() : undefined;
    if (trick?.kind === "unreachable") throw new TypeError("fetch failed");
    if (trick?.kind === "meanwhile") trick.work();
    if (trick?.kind === "hang") return this.hang(init.signal ?? undefined);
    if (trick?.kind === "portal") return new Response("<html>Please sign in</html>", { status: 200 });
    if (trick?.kind === "status") {
      const headers: Record<string, string> = trick.retryAfter ? { "Retry-After": trick.retryAfter } : {};
      return json(trick.status, { code: trick.code ?? "x", where: "server", why: "as asked" }, headers);
    }
    const answer =
      path === "/api/enrol"
        ? await this.enrol(init)
        : path === "/api/sync"
          ? await this.sync(init, trick?.kind === "half")
          : await this.other(path, init);
    if (trick?.kind === "lose_answer") throw new TypeError("connection reset");
    if (trick?.kind !== "cut") return answer;
    const text = await answer.text();
    return new Response(text.slice(0, text.length / 2), { status: 200 });
  };

  private async by(init: RequestInit): ReturnType<TokenDesk["by"]> {
    return this.desk.by((new Headers(init.headers).get("Authorization") ?? "").replace("Bearer ", ""));
  }

  /** All that a token which may only send opens is a sync. */
  private async other(path: string, init: RequestInit): Promise<Response> {
    const known = await this.by(init);
    this.asked.push({ path, sendOnly: known?.sendOnly ?? false });
    if (path === "/api/tokens" && !this.desk.knowsSendOnly) return new Response(null, { status: 404 });
    if (!known) return json(401, { code: "not_enrolled", where: "Authorization", why: "unknown token" });
    if (known.sendOnly) return json(403, { code: "may_only_send", where: "Authorization", why: "locked" });
    if (path === "/api/tokens") {
      const key = this.keys.get(known.device) ?? "";
      const status = await this.desk.take(known.device, this.id, String(init.body), key);
      return new Response(null, { status });
    }
    return json(200, await (path === "/api/seal-key" ? this : (this.beyond ?? this)).carrying.told());
  }

  async publicKey(): Promise<string> {
    const { publicKey } = await this.signing;
    return base64(new Uint8Array(await crypto.subtle.exportKey("spki", publicKey)));
  }

  /** Its signed word of what it holds without a gap. */
  async receipt(device: string): Promise<Receipt | null> {
    const head = await this.head(device, this.state);
    if (!head) return null;
    const said = { device, ...head, at: this.now };
    const text = receiptText({ ...said, server: this.id, epoch: this.epoch });
    return { ...said, signature: await this.sign(text) };
  }

  private async head(device: string, of: State): Promise<{ seq: number; head_sha256: string } | null> {
    const own = of.kept.filter((line) => line.device === device).sort((a, b) => a.seq - b.seq);
    let seq = 0;
    while (own[seq]?.seq === seq + 1) seq += 1;
    const last = own[seq - 1];
    return last ? { seq, head_sha256: await sha256(envelopeText(last.raw)) } : null;
  }

  /** Its signed word of what its last backup holds. */
  async backupWord(device: string): Promise<BackupWord | null> {
    const head = this.backedUp && (await this.head(device, this.backedUp));
    if (!head) return null;
    const { id: server, epoch, now: at } = this;
    const word = { server, epoch, device, ...head, made_at: at, at };
    return { ...word, signature: await this.sign(backupText(word)) };
  }

  async sign(text: string): Promise<string> {
    const how = { name: "ECDSA", hash: "SHA-256" };
    const made = await crypto.subtle.sign(how, (await this.signing).privateKey, utf8(text));
    return base64(new Uint8Array(made));
  }

  private hang(signal: AbortSignal | undefined): Promise<Response> {
    this.hanging += 1;
    return new Promise((_, reject) => {
      signal?.addEventListener("abort", () => {
        this.hanging -= 1;
        reject(signal.reason);
      });
    });
  }

  private async enrol(init: RequestInit): Promise<Response> {
    const asked = JSON.parse(String(init.body)) as EnrolRequest;
    if (asked.code !== this.code)
      return json(404, { code: "code_unknown", where: "code", why: "no such code" });
    const text = `chinrest enrol ${asked.code} ${asked.device}`;
    if (!(await isSigned(asked.public_key, text, asked.proof ?? "")))
      return json(403, { code: "not_proved", where: "proof", why: "not signed" });
    const { token, sendOnly } = await this.desk.give(asked.device, asked.send_token_sha256);
    this.keys.set(asked.device, asked.public_key);
    return json(201, {
      token,
      site: "north",
      site_name: "North",
      server: this.id,
      epoch: this.epoch,
      demo: true,
      server_key: await this.publicKey(),
      final_key: (await this.beyond?.publicKey()) ?? "",
      send_token: sendOnly,
      data_key: asked.escrow ? await this.carrying.dataKey(asked.escrow, asked.device) : "",
      carrying_key: this.tellsCarryingKey ? await (this.beyond ?? this).carrying.told() : null,
    });
  }

  private async sync(init: RequestInit, half: boolean): Promise<Response> {
    const headers = new Headers(init.headers);
    const known = await this.by(init);
    const device = known?.device;
    if (!device) return json(401, { code: "not_enrolled", where: "Authorization", why: "unknown token" });
    if (this.withdrawn) return json(403, { code: "device_withdrawn", where: "device", why: "withdrawn" });
    const text = await this.unpack(init.body as BodyInit, headers.get("Content-Encoding"));
    if (text.length > this.maxBytes) return json(413, { code: "too_large", where: "body", why: "too large" });
    const [first = "", ...rest] = text.split("\n");
    const header = JSON.parse(first) as SyncHeader;
    this.requests.push(header);
    this.bySendOnly.push(known.sendOnly);
    const lines: SyncAnswer["lines"] = [];
    const sentAs = rest.filter((line) => line !== "");
    const short = this.takesShort && header.short;
    const came = short ? await restored(sentAs) : sentAs;
    const last = came?.at(-1);
    if (!header.sealed && last !== undefined && (await sha256(envelopeText(last))) !== header.head_sha256) {
      return json(400, { code: "another_head", where: "header.head_sha256", why: "not the last line's" });
    }
    if (!came) return json(400, { code: "not_short", where: "lines", why: "can't be put back" });
    this.sentLines.push(...came);
    for (const [index, sent] of came.entries()) {
      const raw = header.sealed ? await this.carrying.line(sent) : sent;
      if (half && index % 2 === 1) continue;
      lines.push({ index, ...(await this.takeLine(raw, device)) });
    }
    for (const line of lines) if (line.id && line.status !== "refused") this.acknowledged.add(line.id);
    const from = header.epoch === this.epoch ? (header.cursor ?? 0) : 0;
    const nothing = header.sealed || known.sendOnly;
    const others = nothing
      ? [] // a locked phone could not read them
      : this.state.kept.filter((line) => line.position > from && line.device !== device && !line.refused);
    const allTaken =
      short && lines.length === came.length && lines.every((line) => line.status !== "refused");
    const answer: Omit<SyncAnswer, "takes_short" | "taken"> = {
      server: this.id,
      epoch: this.epoch,
      kind: this.kind,
      now: this.now,
      app: "0.1.0",
      lines: allTaken ? [] : lines,
      holds: fromNumbers(this.lines(device).map((line) => line.seq)),
      cursor: nothing ? from : this.state.position,
      pulled: others.map((line) => line.raw),
      more: false,
      pack: this.pack,
      recalls: [],
      receipt: this.kind === "final" ? await this.receipt(device) : null,
      final: null,
      withdrawn_people: this.withdrawnPeople,
      backup: this.kind === "final" ? await this.backupWord(device) : null,
    };
    if (!this.takesShort) return json(200, answer);
    const taken = allTaken && came.length > 0 ? header.head_sha256 : null;
    return json(200, { ...answer, takes_short: true, taken } satisfies SyncAnswer);
  }

  private async unpack(body: BodyInit, encoding: string | null): Promise<string> {
    const blob = await new Response(body).blob();
    if (encoding !== "gzip") return blob.text();
    return new TextDecoder().decode(gunzipSync(new Uint8Array(await blob.arrayBuffer())));
  }

  /** One line after the other, by whatever way it comes: the real server has one writer. */
  takeLine(raw: string, device: string): Promise<Omit<SyncAnswer["lines"][number], "index">> {
    const taken = this.turn.then(() => this.takeOne(raw, device));
    this.turn = taken.catch(() => undefined); // whoever brought it hears of it
    return taken;
  }

  private async takeOne(raw: string, device: string): Promise<Omit<SyncAnswer["lines"][number], "index">> {
    const line = readLine(raw);
    if (!line) return { id: null, seq: null, status: "refused", code: "malformed", reason: "not a line" };
    const e: Envelope = line.envelope;
    const refuse = (
      code: "body_hash" | "fork" | "bad_body" | "broken_chain" | "wrong_device",
      reason: string,
    ) => ({
      id: e.id,
      seq: e.seq,
      status: "refused" as const,
      code,
      reason,
    });
    if (e.device !== device) return refuse("wrong_device", "another device's line");
    const there = this.state.kept.find((kept) => kept.device === device && kept.seq === e.seq);
    if (there) {
      if (there.raw !== raw) return refuse("fork", "another line stands here");
      if (there.refused) return refuse("bad_body", "refused before");
      return { id: e.id, seq: e.seq, status: "repeat", code: null, reason: null };
    }
    if ((await sha256(raw.slice(raw.indexOf("\t") + 1))) !== e.body_sha256) {
      return refuse("body_hash", "the body is another");
    }
    const refused = this.refuseTypes.has(e.type);
    const before = this.state.kept.find((kept) => kept.device === device && kept.seq === e.seq - 1);
    const prev = e.seq === 1 ? FIRST_PREV : before ? await sha256(envelopeText(before.raw)) : null;
    if (prev !== null && prev !== e.prev) return refuse("broken_chain", "does not follow");
    this.state.position += 1;
    this.state.kept.push({ raw, id: e.id, device, seq: e.seq, position: this.state.position, refused });
    if (refused) return refuse("bad_body", "this type is refused");
    const status = prev === null ? "waiting" : "stored";
    return { id: e.id, seq: e.seq, status, code: null, reason: null };
  }

  /** A line by another device, as if it had come in. */
  async foreign(
    device: string,
    seq: number,
    of: string,
    type: string,
    body: object,
    at: number,
  ): Promise<string> {
    const text = JSON.stringify({ salt: "AAAAAAAAAAAAAAAAAAAAAA==", ...body });
    const id = `foreign-${device}-${seq}-${this.faked++}`;
    const envelope: Envelope = {
      id,
      device,
      seq,
      prev: FIRST_PREV,
      body_sha256: await sha256(text),
      at,
      mono: 0,
      boot: "b",
      actor: null,
      case: of,
      practice: false,
      pack: null,
      type,
      v: 1,
    };
    this.state.position += 1;
    const raw = `${JSON.stringify(envelope)}\t${text}`;
    this.state.kept.push({ raw, id, device, seq, position: this.state.position, refused: false });
    return id;
  }
}
