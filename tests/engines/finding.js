// The body of a function (what, name, within) for any engine: the first thing on the page that a person could see
// under this name. `what` is one of KINDS; `name` a text, or { source, flags } of a pattern, or null for any;
// `within` another such pair to look inside of, or null.

const KINDS = {
  button: "button",
  link: "a[href]",
  heading: "h1, h2, h3",
  group: "fieldset, [role=group]",
  region: "section",
  dialog: "dialog[open]",
  field: "input:not([type=radio]):not([type=checkbox]), textarea",
  alert: "[role=alert]",
  answer: ".big-answers button",
  choice: "input[type=radio], input[type=checkbox]",
  text: "p, li, dd, dt",
};

const tidy = (text) => (text ?? "").replace(/\s+/g, " ").trim();

function nameOf(element) {
  const said = element.getAttribute("aria-label");
  if (said) return tidy(said);
  const by = element.getAttribute("aria-labelledby");
  if (by) return tidy(by.split(" ").map((id) => document.getElementById(id)?.textContent).join(" "));
  if (element.tagName === "FIELDSET") return tidy(element.querySelector(":scope > legend")?.textContent);
  if (element.labels?.length) return tidy(element.labels[0].textContent);
  return tidy(element.textContent);
}

// a radio button or a tick box is drawn by its label, which is what is seen and touched
const faceOf = (element) => (element.matches(KINDS.choice) ? (element.closest("label") ?? element) : element);

const isSeen = (element) =>
  element.getClientRects().length > 0 && getComputedStyle(element).visibility === "visible";

function first(root, kind, wanted) {
  const is = wanted === null || typeof wanted === "string" ? wanted : new RegExp(wanted.source, wanted.flags);
  const fits = (name) => is === null || (typeof is === "string" ? name === is : is.test(name));
  return [...root.querySelectorAll(KINDS[kind])].find((e) => isSeen(faceOf(e)) && fits(nameOf(e))) ?? null;
}

const root = within === null ? document : first(document, ...within);
const found = root === null ? null : first(root, what, name);
if (found === null || found.disabled) return null;
const face = faceOf(found);
face.scrollIntoView({ block: "center" });
return face;
