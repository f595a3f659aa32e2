/** Under CI every property test draws the same values each time, as Hypothesis does there: a change is judged by itself,
 * not by its luck. By hand, and with SOAK, each run draws its own and prints the seed of what fails. */
import fc from "fast-check";

if (process.env.CI && !process.env.SOAK) fc.configureGlobal({ seed: 20261129 });
