/** What the run rules found, in words. */

import type { ChartPoint, Runs } from "../../types.gen";

export const RULES: Record<ChartPoint["rules"][number], string> = {
  beyond_3_sigma: "beyond 3 standard errors",
  two_of_three_beyond_2_sigma: "two of three beyond 2 standard errors",
  four_of_five_beyond_1_sigma: "four of five beyond 1 standard error",
  eight_on_one_side: "eight on one side",
};

export function runsWords(runs: Runs | null, name: (place: number) => string): string {
  if (runs === null) return "Fewer than ten points lie off the median: too few for the rules of runs.";
  const where = `from ${name(runs.longest_from)} to ${name(runs.longest_to)}`;
  const shift = `The longest run is ${runs.longest_run} points ${runs.longest_side} the median, ${where}`;
  const longest = runs.shift
    ? `${shift}: longer than ${runs.longest_limit}, a sign of a shift.`
    : `${shift}; up to ${runs.longest_limit} come by chance.`;
  const crossings = runs.few_crossings
    ? `The line crosses the median ${runs.crossings} times, fewer than ${runs.crossings_limit}: a sign of a shift or a drift.`
    : `The line crosses the median ${runs.crossings} times; at least ${runs.crossings_limit} are to be expected.`;
  return `${longest} ${crossings}`;
}
