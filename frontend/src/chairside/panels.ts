/** The panels that need the kernel, as screens and steps use them: read in when idle or asked for. */
import { later } from "./later";

export const OpticPanel = later(() => import("./turning").then((m) => m.OpticPanel));
export const PositionPanel = later(() => import("./turning").then((m) => m.PositionPanel));
