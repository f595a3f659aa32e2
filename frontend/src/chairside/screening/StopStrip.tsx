/** On every screen of the case: the dye is closed, and where it can be opened. */
import type { CaseState } from "../../log";
import type { Held } from "../../pack";
import { LinkButton, Notice } from "../../ui";
import { hrefOf, route } from "../router";
import { count } from "../words";
import { openOnes } from "./course";

function stepScreen(held: Held, key: string | undefined): string {
  return held.pack.steps.find((s) => s.id === key?.split("|")[0])?.screen ?? "";
}

export function StopStrip({ state, held }: { state: CaseState; held: Held }) {
  const open = openOnes(held.pack, state);
  const here = route.value;
  const name =
    here.page !== "case" ? "" : here.screen === "step" ? stepScreen(held, here.tail[0]) : here.screen;
  const there = name === "screening" || name === "ready"; // they say it themselves
  if (open.length === 0 || there || state.dye.injected.length > 0) return null;
  const stops = open.filter((o) => o.kind !== "ask").length;
  const asks = open.length - stops;
  const words = [
    stops > 0 ? count(stops, "stop", "stops") : "",
    asks > 0 ? `${count(asks, "question", "questions")} for the physician` : "",
  ].filter(Boolean);
  const part = open.some((o) => o.question.part === "patient") ? "screening" : "ready";
  return (
    <Notice kind={stops > 0 ? "danger" : "warn"} title="The dye is closed">
      <p>Open: {words.join(", ")}.</p>
      <LinkButton href={hrefOf(state.id, part)}>Look at what is open</LinkButton>
    </Notice>
  );
}
