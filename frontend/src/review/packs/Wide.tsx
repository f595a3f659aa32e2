import type { ComponentChildren } from "preact";

/** A table that may be wider than the screen: it is scrolled by itself, by keyboard too. */
export function Wide({ name, children }: { name: string; children: ComponentChildren }) {
  return (
    <section
      class="packs-wide"
      aria-label={name}
      // biome-ignore lint/a11y/noNoninteractiveTabindex: without it nobody could scroll it by keyboard (WCAG 2.1.1)
      tabIndex={0}
    >
      {children}
    </section>
  );
}
