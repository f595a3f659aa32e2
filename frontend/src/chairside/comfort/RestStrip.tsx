import { signal } from "@preact/signals";
import type { CaseState } from "../../log";
import { Button, Notice } from "../../ui";
import { useNow } from "../now";
import { record, saving } from "../record";
import { span } from "../words";
import { breaksDue, restSince } from "./rest";

/** Offers that were put away: the stretch that they were of, and how many. */
const putAway = signal<{ since: number; offers: number }>({ since: 0, offers: 0 });

/** A chin gets sore and a neck stiff: after so long in the rest a break is offered, by the pack's interval. */
export function RestStrip({ state, everyMin }: { state: CaseState; everyMin: number }) {
  const now = useNow(10_000);
  const since = restSince(state);
  if (since === null) return null;
  const due = breaksDue(since, now, everyMin);
  const away = putAway.value.since === since ? putAway.value.offers : 0;
  if (due <= away) return null;
  const start = () =>
    record("pause.noted", { state: "started", why: "break from the chin rest" }, { case: state.id });
  return (
    <section class="banners" aria-label="Break">
      <Notice title={`In the rest for ${span(now - since)}`}>
        <div class="row">
          <Button disabled={saving.value > 0} onClick={() => void start()}>
            Start a break
          </Button>
          <Button
            kind="quiet"
            onClick={() => {
              putAway.value = { since, offers: due };
            }}
          >
            Not now
          </Button>
        </div>
      </Notice>
    </section>
  );
}
