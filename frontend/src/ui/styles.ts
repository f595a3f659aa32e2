import "./tokens.css";
import "./base.css";
import "./controls.css";
import "./surfaces.css";
