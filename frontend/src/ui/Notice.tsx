import type { ComponentChildren } from "preact";
import { Icon, type IconName } from "./icons";

const SHAPE: Record<NoticeKind, IconName> = {
  info: "info",
  done: "tick",
  warn: "warn",
  danger: "danger",
  practice: "practice",
};

export type NoticeKind = "info" | "done" | "warn" | "danger" | "practice";

/** A shape, a word, what it means and what to do. `loud` is read out at once. */
export function Notice({
  kind = "info",
  title,
  children,
  loud,
}: {
  kind?: NoticeKind;
  title?: string;
  children?: ComponentChildren;
  loud?: boolean;
}) {
  return (
    <div class={`notice notice-${kind === "practice" ? "warn" : kind}`} {...(loud ? { role: "alert" } : {})}>
      <Icon name={SHAPE[kind]} />
      <div class="notice-body">
        {title && <h2>{title}</h2>}
        {children}
      </div>
    </div>
  );
}

/** Something still on its way: says what, and since it is read out, says it once. */
export function Loading({ children }: { children: ComponentChildren }) {
  return (
    <p class="quiet" role="status">
      {children}
    </p>
  );
}

/** A short word in a box, with its shape. */
export function Tag({
  icon,
  practice,
  children,
}: {
  icon?: IconName;
  practice?: boolean;
  children: ComponentChildren;
}) {
  return (
    <span class={`tag ${practice ? "tag-practice" : ""}`}>
      {icon && <Icon name={icon} />}
      <span>{children}</span>
    </span>
  );
}

/** Folded away until asked for. */
export function Fold({
  word,
  children,
  open,
}: {
  word: string;
  children: ComponentChildren;
  open?: boolean;
}) {
  return (
    <details class="fold" {...(open ? { open: true } : {})}>
      <summary>
        <Icon name="forward" />
        <span>{word}</span>
      </summary>
      <div>{children}</div>
    </details>
  );
}
