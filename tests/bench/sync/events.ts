// An invented day of cases, of the kinds and sizes that a phone writes. The same for everybody who is measured: ours
// makes chained lines of them, the bare limit sends those lines, the others keep each event as a record of theirs.
import { uuid4, uuid7 } from "../../../frontend/src/log/bytes";

export interface Event {
  id: string;
  at: number;
  mono: number;
  boot: string;
  actor: string;
  case: string;
  practice: boolean;
  pack: string;
  type: string;
  body: Record<string, unknown>;
}

const BOOT = uuid4();
const LINES_A_CASE = 50;

function bodyOf(i: number): [string, Record<string, unknown>] {
  const place = i % LINES_A_CASE;
  if (place === 0) {
    const asked = { eyes: ["right", "left"], study_eye: "right", modalities: ["fluorescein"] };
    return ["case.opened", { code: `C-${i}`, ...asked, cross_sections: false, flags: [], note: "" }];
  }
  if (place === LINES_A_CASE - 1) return ["case.closed", { outcome: "completed" }];
  if (place % 10 === 0) return ["comfort.noted", { score: 2, bothers: ["light"], note: "" }];
  return ["step.done", { step: `step_${place}`, eye: "right", optic: "ultrawide" }];
}

export function eventsOf(count: number): Event[] {
  const now = Date.now();
  const made: Event[] = [];
  let of = "";
  for (let i = 0; i < count; i++) {
    if (i % LINES_A_CASE === 0) of = uuid4();
    const [type, body] = bodyOf(i);
    const at = now + i;
    const said = { mono: i, boot: BOOT, actor: "staff", case: of, practice: false, pack: "0".repeat(64) };
    made.push({ id: uuid7(at), at, ...said, type, body });
  }
  return made;
}
