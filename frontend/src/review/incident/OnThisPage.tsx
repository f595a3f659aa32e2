import type { Timeline } from "../../types.gen";
import { goToPart, type PartId, partHref } from "./parts";
import type { Question } from "./questions";
import type { Reviewing } from "./useReview";

/** The way to each part of the page, with how much there is. */
export function OnThisPage({
  reviewing,
  timeline,
  questions,
}: {
  reviewing: Reviewing;
  timeline: Timeline | null;
  questions: readonly Question[];
}) {
  const { review, page, line } = reviewing;
  const open = review.actions.filter((action) => action.state === "open").length;
  const like = new Set([...page.like.map((row) => row.line), ...review.links.map((link) => link.other)]).size;
  const parts: [PartId, string][] = [
    ["questions", `Open questions: ${questions.length}`],
    ["actions", `Actions open: ${open}`],
    ["look", "Second look"],
    ["comments", `Comments: ${review.comments.length}`],
    ["like", `Like incidents: ${like}`],
    ["case", timeline ? `The case: ${timeline.entries.length} lines` : "The case"],
  ];
  return (
    <nav class="desk-parts" aria-label="On this page">
      <ul>
        {parts.map(([part, word]) => (
          <li key={part}>
            <a href={partHref(line, part)} onClick={() => goToPart(part)}>
              {word}
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}

export function Questions({ line, questions }: { line: string; questions: readonly Question[] }) {
  return (
    <section id="part-questions" tabIndex={-1} class="desk-part" aria-label="Open questions">
      <h2>Open questions</h2>
      {questions.length === 0 && <p class="quiet">None.</p>}
      {questions.length > 0 && (
        <ul class="list">
          {questions.map(({ text, part }) => (
            <li key={text}>
              <a href={partHref(line, part)} onClick={() => goToPart(part)}>
                {text}
              </a>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
