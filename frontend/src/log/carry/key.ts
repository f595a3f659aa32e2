/** For which key this phone seals lines that go by file: told at enrolment, or asked for later, and proved each time. */
import type { CarryingKey } from "../../types.gen";
import type { Database, Meta } from "../db";
import { type Env, fetchWithin, readBody } from "../env";
import { isSigned } from "../sync/proof";

const ANSWER_LIMIT_MS = 20_000;

/** What is signed: the same text that the server signs. */
export function carryingKeyText({ server, key }: Omit<CarryingKey, "signature">): string {
  return `chinrest carrying-key ${server} ${key}`;
}

function isCarryingKey(value: unknown): value is CarryingKey {
  if (typeof value !== "object" || value === null) return false;
  const said = value as Record<string, unknown>;
  return ["server", "key", "signature"].every((name) => typeof said[name] === "string");
}

/** The final server's signing key, as it was given at enrolment: at a hub, that of the server beyond. */
export function finalKeyOf(device: Meta["device"]): string {
  return device.finalKey || device.serverKey || "";
}

/** Only the final server's own word counts: whoever else could read what is sealed. */
async function isProven(said: CarryingKey, device: Meta["device"]): Promise<boolean> {
  if (!device.finalKey && said.server !== device.server) return false;
  return isSigned(finalKeyOf(device), carryingKeyText(said), said.signature);
}

/** The key that is known here and proved; null where there is none. */
export async function keyOf(database: Database, device: Meta["device"]): Promise<CarryingKey | null> {
  const said = (await database.run((db) => db.get("meta", "carrying"))) as Meta["carrying"] | undefined;
  return said && (await isProven(said, device)) ? said : null;
}

async function asked(
  env: Env,
  database: Database,
  device: Meta["device"],
  path: string,
): Promise<CarryingKey | null> {
  const { status, body } = await fetchWithin(env, ANSWER_LIMIT_MS, path, {
    headers: { Authorization: `Bearer ${await database.tokenOf(device)}` },
    cache: "no-store",
    credentials: "omit",
  });
  const said = readBody(body).value;
  return status === 200 && isCarryingKey(said) ? said : null;
}

/** The key of the server that this phone talks to, hub or not, proved; null where what it said is not. Raises where
 * no answer came. */
export async function sealKeyOf(
  env: Env,
  database: Database,
  device: Meta["device"],
): Promise<CarryingKey | null> {
  const said = await asked(env, database, device, "/api/seal-key");
  if (said?.server !== device.server) return null;
  return (await isSigned(device.serverKey ?? "", carryingKeyText(said), said.signature)) ? said : null;
}

/** Asks the server for it where it is not known. Raises where no answer came. */
export async function learnKey(env: Env, database: Database, device: Meta["device"]): Promise<void> {
  if (await keyOf(database, device)) return;
  const said = await asked(env, database, device, "/api/carrying-key");
  if (!said || !(await isProven(said, device))) return;
  await database.run((db) => db.put("meta", said, "carrying"));
}
