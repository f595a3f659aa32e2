import { isOnlyReaction } from "../../log";
import { Button, Fold, LinkButton, Mark, Notice, Tag } from "../../ui";
import { app, hasPins } from "../app";
import { PageFrame } from "../frame/CaseFrame";
import { CaseCard } from "../home/CaseCard";
import { Sending } from "../home/Sending";
import { Standing } from "../home/Standing";
import { UnfinishedCard } from "../unfinished/UnfinishedCard";
import { casesInHand } from "../wiring";
import { clock } from "../words";
import { Withdrawn } from "./Withdrawn";

/** Who is in the chair, what waits to be sent and since when, one large way to begin. */
export function Home({ askedCode }: { askedCode: boolean }) {
  const device = app.log.device.value;
  const cases = app.log.cases.value;
  const held = app.shelf.current.value;
  const withdrawn = app.log.sync.value.withdrawn;
  const mine = casesInHand(cases, device?.id ?? null);
  const others = cases.filter((c) => c.state === "open" && !mine.includes(c) && !isOnlyReaction(c));
  const closed = cases.filter((c) => c.state === "closed").slice(0, 12);
  // nobody begins with guidance that was called back, nor on a phone that the server takes nothing from
  const recalled = app.shelf.recall.value !== null;
  const begin =
    withdrawn || recalled || !held ? null : (
      <LinkButton kind={mine.length > 0 ? "plain" : "main"} icon="plus" href="#/new" big>
        Begin a case
      </LinkButton>
    );

  return (
    <PageFrame
      home
      title={
        <>
          <Mark /> <span>Chinrest</span>
          {held?.pack.demo && (
            <Tag icon="practice" practice>
              Demo
            </Tag>
          )}
        </>
      }
      act={begin}
    >
      <p class="quiet">
        {device?.siteName}
        {held ? ` · ${held.pack.clinic}` : ""}
      </p>
      {withdrawn && <Withdrawn />}
      {askedCode && (
        <Notice title="This phone is enrolled already">
          <p>
            It belongs to {device?.siteName}. The code in the address was not used, and holds for another
            phone.
          </p>
          <LinkButton href="#/">Put away</LinkButton>
        </Notice>
      )}
      <section class="stack" aria-labelledby="in-chair">
        <h2 id="in-chair">In the chair</h2>
        {mine.length === 0 && <p class="quiet">Nobody. No case is open on this phone.</p>}
        {recalled && <p>No case can begin until newer guidance has come.</p>}
        {mine.map((c) => (
          <CaseCard key={c.id} state={c} now />
        ))}
      </section>
      {others.length > 0 && (
        <section class="stack" aria-labelledby="elsewhere">
          <h2 id="elsewhere">Open elsewhere at this site</h2>
          {others.map((c) => (
            <CaseCard key={c.id} state={c} />
          ))}
        </section>
      )}
      <UnfinishedCard />
      <Sending />
      <Standing inHand={mine.length} />
      {closed.length > 0 && (
        <Fold word={`Closed cases on this phone (${closed.length})`}>
          <ul class="list">
            {closed.map((c) => (
              <li key={c.id} class="row-ends">
                <a href={`#/case/${c.id}`}>{c.code}</a>
                <span class="quiet t-small">
                  {c.outcome ?? "closed"}, {clock(c.closedAt ?? c.lastAt)}
                </span>
              </li>
            ))}
          </ul>
        </Fold>
      )}
      <section class="stack-tight" aria-label="Beside a case">
        <LinkButton href="#/light" wide>
          Outside light
        </LinkButton>
        <LinkButton href="#/card" wide>
          Card for the patient
        </LinkButton>
      </section>
      <LinkButton href="#/settings" icon="settings" wide>
        Settings
      </LinkButton>
      {hasPins() && (
        <Button wide onClick={() => void import("../locking").then((m) => m.lockAll())}>
          Lock this phone
        </Button>
      )}
      {held && (
        <Fold word="Cautions and limits">
          <ul class="bullets">
            {held.pack.cautions.map((c) => (
              <li key={c}>{c}</li>
            ))}
          </ul>
        </Fold>
      )}
    </PageFrame>
  );
}
