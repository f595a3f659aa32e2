// Bundled by phone_side.py and run in the browser at the served origin: the real front-end code, beside a bare put.
import { fit } from "../../frontend/src/kernel";
import { openLog } from "../../frontend/src/log";
import type { FitRequest, Pack } from "../../frontend/src/types.gen";
import { fill, firstPin, starts } from "./lock";
import { bareStore, type Times, taps } from "./taps";

async function appends(code: string, count: number): Promise<Times> {
  const log = await openLog();
  const enrolled = await log.enrol(code, "bench");
  if (!enrolled.ok) throw new Error(enrolled.fault.why);
  const times = await taps(log, await bareStore(), count, "bench");
  log.close();
  return times;
}

function fits(pack: Pack, requests: FitRequest[]): number[] {
  return requests.map((request) => {
    const began = performance.now();
    fit(pack, request);
    return performance.now() - began;
  });
}

Object.assign(globalThis, { bench: { appends, fits, fill, firstPin, starts } });
