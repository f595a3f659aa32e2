import { useId } from "preact/hooks";

export function Select({
  label,
  value,
  options,
  onPick,
  hideLabel,
  disabled,
}: {
  label: string;
  value: string;
  options: readonly { id: string; text: string }[];
  onPick: (id: string) => void;
  hideLabel?: boolean;
  /** While what it offers is still on its way: it is never changed under the hand. */
  disabled?: boolean;
}) {
  const id = useId();
  // a value out of the address that no option names is kept and shown, so that the view says why it is narrow
  const shown = options.some((o) => o.id === value) ? options : [...options, { id: value, text: value }];
  return (
    <div class="field desk-select">
      <label for={id} class={hideLabel ? "only-heard" : ""}>
        {label}
      </label>
      <select
        id={id}
        value={value}
        disabled={disabled ?? false}
        onChange={(event) => onPick(event.currentTarget.value)}
      >
        {shown.map((option) => (
          <option key={option.id} value={option.id} selected={option.id === value}>
            {option.text}
          </option>
        ))}
      </select>
    </div>
  );
}
