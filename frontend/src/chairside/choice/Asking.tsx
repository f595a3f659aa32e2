/** What is asked of the pictures beside the request: how far out, how fine, how long. Kept with the case on this phone. */
import "./asked.css";
import type { Pack } from "../../types.gen";
import { PickOne, Segmented } from "../../ui";
import { plannedRegions } from "../map/ways";

export interface AskedFor {
  region: string;
  detail: "any" | "10" | "20" | "40";
  minutes: "any" | "1" | "3" | "10";
}

export function firstAsked(pack: Pack): AskedFor {
  return { region: plannedRegions(pack)[0]?.id ?? "posterior_pole", detail: "any", minutes: "any" };
}

export const numberOf = (text: string): number | null => (text === "any" ? null : Number(text));

export function Asking({
  pack,
  asked,
  onChange,
}: {
  pack: Pack;
  asked: AskedFor;
  onChange: (change: Partial<AskedFor>) => void;
}) {
  return (
    <div class="stack regions">
      <PickOne
        legend="How far out"
        options={plannedRegions(pack)}
        value={asked.region}
        onPick={(id) => id !== null && onChange({ region: id })}
        across
      />
      <Segmented<AskedFor["minutes"]>
        legend="Time in the rest, at most"
        options={[
          { id: "any", text: "Any" },
          { id: "1", text: "1 min" },
          { id: "3", text: "3 min" },
          { id: "10", text: "10 min" },
        ]}
        value={asked.minutes}
        onPick={(minutes) => onChange({ minutes })}
      />
      <Segmented<AskedFor["detail"]>
        legend="Pixels per degree, at least"
        options={[
          { id: "any", text: "Any" },
          { id: "10", text: "10" },
          { id: "20", text: "20" },
          { id: "40", text: "40" },
        ]}
        value={asked.detail}
        onPick={(detail) => onChange({ detail })}
      />
    </div>
  );
}
