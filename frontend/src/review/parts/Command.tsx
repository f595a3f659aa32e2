/** What is typed at the server, such as `chinrest erase --for-good`: it breaks at its spaces, never in a word. */
export function Command({ children }: { children: string }) {
  return (
    <code class="desk-command">
      {children
        .split(" ")
        .flatMap((word, at) => (at === 0 ? [<span>{word}</span>] : [" ", <span>{word}</span>]))}
    </code>
  );
}
