import { useId } from "preact/hooks";

/** An ISO day, in the browser's own picker; empty while none is given. */
export function DayField({
  label,
  value,
  onDay,
}: {
  label: string;
  value: string;
  onDay: (day: string) => void;
}) {
  const id = useId();
  return (
    <div class="field desk-day">
      <label for={id}>{label}</label>
      <input id={id} type="date" value={value} onChange={(event) => onDay(event.currentTarget.value)} />
    </div>
  );
}
