import { moment } from "../when";
import { NoteForm } from "./SecondLook";
import type { Reviewing } from "./useReview";

export function Comments({ reviewing }: { reviewing: Reviewing }) {
  const { review, name } = reviewing;
  return (
    <section id="part-comments" tabIndex={-1} class="desk-part" aria-label="Comments">
      <h2>Comments</h2>
      {review.comments.length === 0 && <p class="quiet">None yet.</p>}
      {review.comments.length > 0 && (
        <ol class="desk-comments">
          {review.comments.map((comment) => (
            <li key={comment.line}>
              <p class="quiet t-small">
                {name(comment.by)}, {moment(comment.at)}
              </p>
              <p class="desk-words">{comment.text}</p>
            </li>
          ))}
        </ol>
      )}
      <NoteForm
        reviewing={reviewing}
        what="comments"
        field="text"
        label="Comment"
        act="Add this comment"
        must
        folded="Write a comment"
      />
    </section>
  );
}
