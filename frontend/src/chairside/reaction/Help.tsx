import type { ComponentChildren } from "preact";
import type { Emergency } from "../../types.gen";
import { app } from "../app";
import { EmergencyBody } from "../overlays/EmergencyBody";
import type { Tables } from "./tables";

/** What to do first, whom to call, where the kit is: the clinic's own page. */
export function Help({
  page,
  tables,
  children,
}: {
  page: Emergency | null;
  tables: Tables;
  children?: ComponentChildren;
}) {
  return (
    <>
      <EmergencyBody said page={page} site={app.log.device.value?.site ?? null} after={children} />
      {tables.caution && <p class="t-small quiet">{tables.caution}</p>}
    </>
  );
}
