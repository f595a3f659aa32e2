/** Size, colour and rate of the dot, with a look at it. */
import { Notice, Segmented } from "../../ui";
import { COLOURS, type Dot, RATES, SIZES } from "./dot";
import { dotInUse, setDot } from "./kept";

export function DotSettings({ steady }: { steady: boolean }) {
  const dot = dotInUse().value as Dot;
  return (
    <section class="stack light-set" aria-labelledby="dot">
      <h2 id="dot">The dot</h2>
      <Segmented legend="Size" options={SIZES} value={dot.size} onPick={(size) => setDot({ size })} />
      <Segmented
        legend="Colour"
        options={COLOURS}
        value={dot.colour}
        onPick={(colour) => setDot({ colour })}
      />
      {steady ? (
        <Notice kind="warn" title="Steady for this patient">
          <p>Flashing light can set off a fit. The case says so, and the dot does not blink.</p>
        </Notice>
      ) : (
        <Segmented
          legend="Blinks"
          hint="Where flashing light may set off a fit or a migraine: steady. Ask first."
          options={RATES}
          value={dot.rate}
          onPick={(rate) => setDot({ rate })}
        />
      )}
    </section>
  );
}
