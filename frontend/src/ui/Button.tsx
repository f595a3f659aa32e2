import type { ButtonHTMLAttributes, ComponentChildren } from "preact";
import { Icon, type IconName } from "./icons";

type Rest = Omit<ButtonHTMLAttributes<HTMLButtonElement>, "class" | "icon" | "size">;

export interface ButtonProps extends Rest {
  /** main: the one next thing. danger: the way out. plain: everything else. quiet: looks like text. */
  kind?: "plain" | "main" | "danger" | "warn" | "quiet";
  icon?: IconName;
  /** The icon stands above the word instead of beside it. */
  over?: boolean;
  wide?: boolean;
  big?: boolean;
  /** Pressed state of a switch; leave out for an ordinary button. */
  pressed?: boolean;
  children: ComponentChildren;
}

export function Button({ kind = "plain", icon, over, wide, big, pressed, children, ...rest }: ButtonProps) {
  const classes = ["button", "fades", `button-${kind}`];
  if (over) classes.push("button-over");
  if (wide) classes.push("button-wide");
  if (big) classes.push("button-big");
  return (
    <button
      type="button"
      {...rest}
      {...(pressed === undefined ? {} : { "aria-pressed": pressed })}
      class={classes.join(" ")}
    >
      {icon && <Icon name={icon} />}
      <span>{children}</span>
    </button>
  );
}

/** An icon with its word under it, as in the bottom bar. An icon never stands alone. */
export function IconButton({
  word,
  icon,
  ...rest
}: Omit<ButtonProps, "children" | "over"> & { word: string; icon: IconName }) {
  return (
    <Button {...rest} icon={icon} over>
      {word}
    </Button>
  );
}

/** A link that looks and feels like a button: for going somewhere, where a button does something. */
export function LinkButton({
  kind = "plain",
  icon,
  wide,
  big,
  href,
  children,
}: Pick<ButtonProps, "kind" | "icon" | "wide" | "big" | "children"> & { href: string }) {
  const classes = ["button", "fades", `button-${kind}`];
  if (wide) classes.push("button-wide");
  if (big) classes.push("button-big");
  return (
    <a class={classes.join(" ")} href={href}>
      {icon && <Icon name={icon} />}
      <span>{children}</span>
    </a>
  );
}
