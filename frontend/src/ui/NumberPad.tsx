import { Button } from "./Button";
import { Icon } from "./icons";
import { type NumberRule, pressKey, readNumber } from "./numbers";

/**
 * Keys under the thumb for one number. The text stays the caller's, so that a half-typed number survives; a number
 * out of range is refused here, with the range.
 */
export function NumberPad({
  label,
  text,
  rule,
  onText,
  onDone,
  done = "Use this",
}: {
  label: string;
  text: string;
  rule: NumberRule;
  onText: (text: string) => void;
  onDone: (value: number) => void;
  done?: string;
}) {
  const read = readNumber(text, rule);
  const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9", rule.decimals > 0 ? "." : "", "0", "⌫"];
  return (
    <fieldset class="stack-tight">
      <legend class="strong">{label}</legend>
      <p class="pad-shown" aria-live="polite">
        <span class="t-guide">{text || "–"}</span>
        <span class="t-do">{rule.unit}</span>
      </p>
      <p class="t-small quiet">
        {rule.least} to {rule.most} {rule.unit}
      </p>
      {read.fault && text !== "" && (
        <p class="field-error" role="alert">
          <Icon name="danger" />
          <span>{read.fault}</span>
        </p>
      )}
      <div class="keys">
        {keys.map((key) =>
          key === "" ? (
            <span key="gap" />
          ) : (
            <Button
              key={key}
              aria-label={key === "⌫" ? "Delete the last digit" : key === "." ? "Decimal point" : key}
              onClick={() => onText(pressKey(text, key, rule))}
            >
              {key}
            </Button>
          ),
        )}
      </div>
      <Button
        kind="main"
        wide
        disabled={read.value === null}
        onClick={() => read.value !== null && onDone(read.value)}
      >
        {done}
      </Button>
    </fieldset>
  );
}

/** Whole numbers in a row of large keys, for scales such as 0 to 10. */
export function ScaleKeys({
  label,
  least,
  most,
  value,
  onPick,
}: {
  label: string;
  least: number;
  most: number;
  value: number | null;
  onPick: (value: number) => void;
}) {
  const keys = Array.from({ length: most - least + 1 }, (_, i) => least + i);
  return (
    <fieldset class="scale-keys">
      <legend class="only-heard">{label}</legend>
      {keys.map((key) => (
        <Button key={key} pressed={value === key} onClick={() => onPick(key)}>
          {key}
        </Button>
      ))}
    </fieldset>
  );
}
