import { render } from "preact";
import "../ui/styles";
import "./desk.css";
import "./tables.css";
import "./line.css";
import "./queue.css";
import "./incident.css";
import "./print.css";
import { applyLook } from "../ui";
import { Desk } from "./Desk";

applyLook("desk", { theme: "system", text: "normal", hand: "right" });
const place = document.getElementById("desk");
if (!place) throw new Error("desk.html has no element #desk");
render(<Desk />, place);
