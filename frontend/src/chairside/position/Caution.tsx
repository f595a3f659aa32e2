import { Icon } from "../../ui";

/** Always in sight on the screens that bring an optic to a face. */
export function Caution({ text = "Watch the gap from the side." }: { text?: string }) {
  return (
    <p class="caution">
      <Icon name="eye" />
      <span>{text}</span>
    </p>
  );
}
