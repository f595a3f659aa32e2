/** What came after an incident was closed. */

import type { Timeline, TimelineEntry } from "../../types.gen";
import { isDeskLine } from "../standing";

/** By the server's own clock on both sides: a phone's may be years out. */
export const lateLines = (timeline: Timeline, closed_at: number | null): TimelineEntry[] =>
  closed_at === null
    ? []
    : timeline.entries.filter((entry) => !isDeskLine(entry.type) && entry.received_at > closed_at);
