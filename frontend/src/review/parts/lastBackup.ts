import type { BackupStanding } from "../../types.gen";
import { ago, day } from "../when";

const WHAT =
  "Phones keep their lines until a backup holds them, and fill up meanwhile; what the desk decided stands on this server alone. Whoever looks after the server makes one with the command chinrest backup.";

/** What is said of the last backup; null where nothing needs to be. */
export function backupWords(standing: BackupStanding, now: number): { title: string; what: string } | null {
  const { state, last_at, limit_days } = standing;
  if (state === "never") return { title: "No backup holds what phones have sent", what: WHAT };
  if (state !== "old" || last_at === null) return null;
  const limit = limit_days === 1 ? "a day" : `${limit_days} days`;
  return {
    title: `The last backup was made ${ago(last_at, now)}`,
    what: `That was on ${day(last_at)}, and more than ${limit} ago. ${WHAT}`,
  };
}
