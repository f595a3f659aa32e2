/** Why an exchange went wrong, in the one shape that the screens show. */
import type { Fault } from "../../types.gen";
import { readBody } from "../env";

export function faultOf(code: string, where: string, why: string): Fault {
  return { code, where, why };
}

/** The server's own words where it gave them in its one error shape. */
export function readFault(status: number, body: ArrayBuffer): Fault {
  const said = readBody(body).value as Partial<Fault> | null | undefined;
  if (typeof said?.code === "string" && typeof said.why === "string") {
    return faultOf(said.code, String(said.where ?? ""), said.why);
  }
  return faultOf(`http_${status}`, "server", `the server answered with status ${status} and gave no reason`);
}
