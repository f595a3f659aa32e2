import type { Difference, PackDifference } from "../../types.gen";
import { Fold, Icon, Tag } from "../../ui";

const KINDS: Record<Difference["kind"], string> = {
  added: "added",
  removed: "removed",
  changed: "changed",
  moved: "moved",
};
/** Groups that follow from the others: folded, with their count. */
const FOLDED = new Set(["proofs", "plans"]);

/** Everything that differs, in groups, the most dangerous first. Nothing is left out: what is folded says how much. */
export function Differences({ found }: { found: PackDifference }) {
  return (
    <div class="stack">
      <p class="packs-count">
        <strong>
          {found.count === 0
            ? "No difference."
            : `${found.count} ${found.count === 1 ? "difference" : "differences"}.`}
        </strong>{" "}
        {found.less_careful > 0 && <Tag icon="warn">{found.less_careful} plainly less careful</Tag>}
      </p>
      {found.groups.length > 1 && (
        <ul class="packs-counts" aria-label="Differences by group">
          {found.groups.map((group) => (
            <li key={group.id}>
              {group.title}: <strong class="number">{group.differences.length}</strong>
            </li>
          ))}
        </ul>
      )}
      {found.groups.map((group) => (
        <section key={group.id} class="desk-part" aria-label={group.title}>
          <h2>
            {group.title} <span class="quiet number">({group.differences.length})</span>
          </h2>
          {FOLDED.has(group.id) ? (
            <Fold word={`Show ${group.differences.length}`}>
              <List differences={group.differences} />
            </Fold>
          ) : (
            <List differences={group.differences} />
          )}
        </section>
      ))}
      {found.left_out.map((line) => (
        <p key={line}>{line}</p>
      ))}
      <p class="quiet t-small packs-how">
        {found.poses_compared > 0 &&
          `${found.poses_compared} pairs of optic and kind of face were worked out for both. `}
        {found.how}
      </p>
    </div>
  );
}

function List({ differences }: { differences: Difference[] }) {
  return (
    <ul class="packs-differences">
      {differences.map((one) => (
        <li
          key={`${one.kind} ${one.key} ${one.subject} ${one.was}`}
          class={one.less_careful ? "packs-less" : ""}
        >
          <Told one={one} />
        </li>
      ))}
    </ul>
  );
}

function Told({ one }: { one: Difference }) {
  return (
    <>
      <p class="packs-subject">
        <strong>{one.subject}</strong>
        {one.part && `, ${one.part}`}
        {one.kind !== "changed" && <span class="quiet"> {KINDS[one.kind]}</span>}
        {one.less_careful && (
          <span class="packs-less-word">
            <Icon name="warn" /> less careful
          </span>
        )}
      </p>
      {(one.was || one.now) && (
        <dl class="packs-was-now">
          {(one.was || one.kind === "removed") && (
            <div>
              <dt>{one.kind === "moved" ? "stood" : "was"}</dt>
              <dd>{one.was || "nothing"}</dd>
            </div>
          )}
          {(one.now || one.kind === "added") && (
            <div>
              <dt>{one.kind === "moved" ? "stands" : "now"}</dt>
              <dd>{one.now || "nothing"}</dd>
            </div>
          )}
        </dl>
      )}
    </>
  );
}
