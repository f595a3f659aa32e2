/** The timed series, as one part of the shell that is read later: no case begins with it. */

export { SeriesScreen } from "./series/SeriesScreen";
export { SeriesStep } from "./series/SeriesStep";
export { Strip } from "./series/Strip";
export { startWatch } from "./series/watch";
