/** What the pack calls things that the log knows by their ids. Where a pack has no name, the id made readable. */
import type { Pack } from "../types.gen";

type Named = Pick<Pack, "protocols" | "pattern_names" | "regions">;

const plain = (id: string): string => {
  const words = id.replaceAll(/[_-]+/g, " ");
  return words.charAt(0).toUpperCase() + words.slice(1);
};

export function protocolName(pack: Named | null, id: string): string {
  return pack?.protocols?.find((one) => one.id === id)?.name ?? plain(id);
}

export function windowName(pack: Named | null, protocol: string, window: string): string {
  const known = pack?.protocols?.find((one) => one.id === protocol);
  return known?.windows.find((one) => one.id === window)?.name ?? plain(window);
}

/** A plan, a pattern or the sweep, as it is logged (`plan:REGION`, `ring_of_four:REGION`, `sweep`), with its region. */
export function planName(pack: Named | null, id: string): string {
  const [way = "", region] = id.split(":");
  const named =
    way === "plan"
      ? "Fewest fields"
      : (pack?.pattern_names?.find((one) => one.id === way)?.name ?? plain(way));
  if (region === undefined) return named;
  return `${named}, ${(pack?.regions?.find((one) => one.id === region)?.name ?? plain(region)).toLowerCase()}`;
}
