/** The shared pieces. Import styles once, at a page's own start: `import "../ui/styles"`. */
export { Button, type ButtonProps, IconButton, LinkButton } from "./Button";
export { type Option, PickMany, PickOne, Segmented } from "./Choices";
export { TextArea, TextField } from "./Field";
export { Icon, type IconName, Mark } from "./icons";
export { applyLook, DARK_ROOM, type Look, look, setLook } from "./look";
export { Fold, Loading, Notice, type NoticeKind, Tag } from "./Notice";
export { NumberPad, ScaleKeys } from "./NumberPad";
export { type NumberRule, pressKey, readNumber } from "./numbers";
export { Sheet, setSheetExit } from "./Sheet";
export { nasalSide, patientSide } from "./sides";
