/** Scales and their ticks. */

import { scaleLinear } from "d3-scale";
import { INNER_X, INNER_Y, type Scale, type Tick } from "./Plot";

/** From 0 to a round figure at or above the largest, never of no height. */
export function upward(largest: number): Scale {
  return scaleLinear()
    .domain([0, largest > 0 ? largest * 1.05 : 1])
    .range(INNER_Y)
    .nice(5);
}

export function across(from: number, to: number): Scale {
  return scaleLinear()
    .domain(to > from ? [from, to] : [from - 1, from + 1])
    .range(INNER_X);
}

export function ticks(scale: Scale, about: number): Tick[] {
  const format = scale.tickFormat(about, "~r");
  const [low = 0, high = 1] = scale.domain();
  return scale
    .ticks(about)
    .filter((at) => at >= Math.min(low, high) && at <= Math.max(low, high))
    .map((at) => ({ at, text: at >= 10_000 ? at.toLocaleString("en-GB") : format(at) }));
}

/** One for each place, or for every so many where they would run into each other. */
export function placeTicks(names: readonly string[], most = 12): Tick[] {
  const step = Math.max(1, Math.ceil(names.length / most));
  return names.map((text, at) => ({ at, text })).filter(({ at }) => at % step === 0);
}

/** Names of lines that end close to each other, moved apart by at least `room`; in the order given. */
export function apart(places: readonly number[], room: number): number[] {
  const order = places.map((at, index) => ({ at, index })).sort((a, b) => a.at - b.at);
  let least = Number.NEGATIVE_INFINITY;
  const moved = new Array<number>(places.length);
  for (const { at, index } of order) {
    least = Math.max(at, least + room);
    moved[index] = least;
  }
  return moved;
}

/** Names at the ends of lines: those of lines that end in one place stand together, the others apart. */
export function endNames(
  lines: readonly { at: number; name: string }[],
  room: number,
): { at: number; name: string }[] {
  const joined: { at: number; names: string[] }[] = [];
  for (const { at, name } of lines) {
    const same = joined.find((other) => Math.abs(other.at - at) < 2);
    if (same) same.names.push(name);
    else joined.push({ at, names: [name] });
  }
  const places = apart(
    joined.map(({ at }) => at),
    room,
  );
  return joined.map(({ names }, index) => ({ at: places[index] ?? 0, name: [...new Set(names)].join(", ") }));
}
