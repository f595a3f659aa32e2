import { useId, useState } from "preact/hooks";
import { Button } from "../../ui";

/** Copies a text. Where the browser doesn't let a page do that, the text is shown to be copied by hand. */
export function Copy({ word, text }: { word: string; text: () => string }) {
  const id = useId();
  const [said, setSaid] = useState("");
  const [byHand, setByHand] = useState<string | null>(null);
  const copy = async () => {
    const wanted = text();
    setByHand(null);
    try {
      await navigator.clipboard.writeText(wanted);
      setSaid("Copied.");
    } catch {
      setSaid(""); // refused, or not a secure page: the text itself is the answer
      setByHand(wanted);
    }
  };
  return (
    <div class="desk-copy">
      <Button onClick={() => void copy()}>{word}</Button>
      <span role="status" class="quiet">
        {said}
      </span>
      {byHand !== null && (
        <div class="field">
          <label for={id}>This browser leaves the copying to you</label>
          <textarea
            id={id}
            readOnly
            rows={3}
            value={byHand}
            onFocus={(event) => event.currentTarget.select()}
          />
        </div>
      )}
    </div>
  );
}

export const CopyLink = () => <Copy word="Copy the link" text={() => location.href} />;
