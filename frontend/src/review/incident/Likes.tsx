import { useState } from "preact/hooks";
import type { IncidentRow, Review } from "../../types.gen";
import { Button, Fold, TextField } from "../../ui";
import type { Answer } from "../api";
import type { PackNames } from "../newest";
import { HarmWord, ReviewTag } from "../parts/tags";
import { hrefOf, parseRoute } from "../route";
import { day } from "../when";
import { sentence } from "../words";
import { ownSite } from "../yours";
import { FormFoot } from "./FormFoot";
import type { Reviewing } from "./useReview";

const ANY = "any";

/** The incident that an address names; what is none is sent as it stands, and refused by the server in words. */
function named(address: string): string {
  const route = parseRoute(address.slice(address.indexOf("#")));
  return route.page === "incident" && route.id ? route.id : address.trim();
}

/** Others that somebody found to be like this one, and others of the same kind to look at. */
export function Likes({ reviewing, names }: { reviewing: Reviewing; names: PackNames }) {
  const { page, review, name } = reviewing;
  const [linking, setLinking] = useState<string | null>(null);
  const [answer, setAnswer] = useState<Answer<Review> | null>(null);
  const rows = new Map([...page.like, ...page.linked].map((row) => [row.line, row]));
  const linked = new Set(review.links.map((link) => link.other));
  const others = page.like.filter((row) => !linked.has(row.line));
  const closed = review.state === "closed";
  return (
    <section id="part-like" tabIndex={-1} class="desk-part" aria-label="Like incidents">
      <h2>Like incidents</h2>
      {review.links.length === 0 && <p class="quiet">None linked yet.</p>}
      <ul class="desk-likes">
        {review.links.map((link) => (
          <li key={link.other}>
            <Like line={link.other} row={rows.get(link.other)} names={names} />
            <p>
              {link.why}{" "}
              <span class="quiet t-small">
                linked by {name(link.by)}, {day(link.at)}
              </span>
            </p>
            {!closed && (
              <Button
                onClick={async () =>
                  setAnswer(await reviewing.decide("links", { other: link.other, why: "", linked: false }))
                }
              >
                Take the link back
              </Button>
            )}
          </li>
        ))}
      </ul>
      <FormFoot answer={answer} reviewing={reviewing} />
      {!closed && linking !== ANY && <Button onClick={() => setLinking(ANY)}>Link an incident</Button>}
      {linking === ANY && <LinkForm reviewing={reviewing} other={null} onDone={() => setLinking(null)} />}
      {others.length > 0 && (
        <Fold word={`Others of the same kind: ${others.length}${others.length === 20 ? " newest" : ""}`}>
          <p class="desk-printed strong">Others of the same kind, not linked</p>
          <ul class="desk-likes">
            {others.map((row) => (
              <li key={row.line}>
                <Like line={row.line} row={row} names={names} />
                {!closed && linking !== row.line && (
                  <Button
                    onClick={() => setLinking(row.line)}
                    aria-label={`Link the incident of ${day(row.at)} at ${row.site_name}`}
                  >
                    Link
                  </Button>
                )}
                {linking === row.line && (
                  <LinkForm reviewing={reviewing} other={row.line} onDone={() => setLinking(null)} />
                )}
              </li>
            ))}
          </ul>
        </Fold>
      )}
    </section>
  );
}

function Like({ line, row, names }: { line: string; row: IncidentRow | undefined; names: PackNames }) {
  if (!row && ownSite() !== null)
    return <span class="quiet">An incident of another site, which you do not see.</span>;
  if (!row) return <a href={hrefOf("incident", line)}>the other incident</a>;
  return (
    <p class="desk-tags">
      <a href={hrefOf("incident", line)}>
        {sentence(names.choice("safety_what", row.what))}, {day(row.at)}
      </a>
      <span>{row.site_name}</span>
      {row.optic && <span>{names.optic(row.optic)}</span>}
      <HarmWord harm={row.officer_harm ?? row.harm} />
      <ReviewTag state={row.state} late={row.late} />
    </p>
  );
}

/** `other` null: it is named by its address. */
function LinkForm({
  reviewing,
  other,
  onDone,
}: {
  reviewing: Reviewing;
  other: string | null;
  onDone: () => void;
}) {
  const [why, setWhy] = useState("");
  const [address, setAddress] = useState("");
  const [answer, setAnswer] = useState<Answer<Review> | null>(null);
  async function save(event: Event) {
    event.preventDefault();
    const got = await reviewing.decide("links", { other: other ?? named(address), why, linked: true });
    setAnswer(got);
    if (got.state === "ready") onDone();
  }
  return (
    <form class="desk-form" aria-label="Link a like incident" onSubmit={save}>
      {other === null && (
        <TextField
          label="Its address"
          hint="As the browser shows it on the other incident's page."
          value={address}
          onText={setAddress}
          maxLength={400}
        />
      )}
      <TextField label="What they have in common" value={why} onText={setWhy} maxLength={400} />
      <FormFoot answer={answer} reviewing={reviewing} />
      <p class="desk-buttons">
        <Button kind="main" type="submit" disabled={!why.trim() || (other === null && !address.trim())}>
          Link them
        </Button>
        <Button onClick={onDone}>Leave it</Button>
      </p>
    </form>
  );
}
