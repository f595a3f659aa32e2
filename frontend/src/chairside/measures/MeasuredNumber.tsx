import { useState } from "preact/hooks";
import { Button, NumberPad, type NumberRule } from "../../ui";

/** A number that is entered once on large keys and then stands as one line, with a way to change it. */
export function MeasuredNumber({
  label,
  how,
  rule,
  value,
  onValue,
}: {
  label: string;
  how?: string;
  rule: NumberRule;
  value: number | null;
  onValue: (value: number | null) => void;
}) {
  const [text, setText] = useState("");
  if (value !== null) {
    return (
      <div class="measured">
        <p>
          <span class="strong">{label}</span>
          <br />
          <span class="t-do number">
            {value} {rule.unit}
          </span>
        </p>
        <Button
          aria-label={`Change: ${label}`}
          onClick={() => {
            setText("");
            onValue(null);
          }}
        >
          Change
        </Button>
      </div>
    );
  }
  return (
    <div class="stack-tight">
      <NumberPad label={label} text={text} rule={rule} onText={setText} onDone={onValue} />
      {how && <p class="t-small quiet">{how}</p>}
    </div>
  );
}
