import { useCallback, useEffect, useState } from "preact/hooks";
import type { IncidentPage, Review } from "../../types.gen";
import { type Answer, ask, post } from "../api";
import { changesBetween } from "./changes";

/** Somebody else changed the review since this page was read. */
export interface Meanwhile {
  page: IncidentPage;
  said: string[];
}

export interface Reviewing {
  line: string;
  page: IncidentPage;
  review: Review;
  name: (id: string) => string;
  /** Sends one decision, with what was before the person when they made it. */
  decide: (what: string, fields: Record<string, unknown>) => Promise<Answer<Review>>;
  meanwhile: Meanwhile | null;
  lookAgain: () => void;
  /** What others had done besides, learnt with the answer to a decision of one's own. */
  news: string[];
}

export function useReview(line: string, first: IncidentPage): Reviewing {
  const [page, setPage] = useState(first);
  const [meanwhile, setMeanwhile] = useState<Meanwhile | null>(null);
  const [news, setNews] = useState<string[]>([]);
  useEffect(() => setPage(first), [first]);
  const { review } = page;
  const name = useCallback((id: string) => nameIn(page, id), [page]);
  const decide = async (what: string, fields: Record<string, unknown>) => {
    const path = `/api/incidents/${encodeURIComponent(line)}`;
    const answer = await post<Review>(`${path}/${what}`, { seen: review.count, ...fields });
    if (answer.state === "ready") {
      const linked = what === "links" ? await ask<IncidentPage>(path) : null;
      if (linked?.state === "ready")
        setPage(linked.value); // with the rows of what is linked now
      else setPage((old) => ({ ...old, review: answer.value }));
      setMeanwhile(null);
      const others = answer.value.count > review.count + 1;
      setNews(others ? changesBetween(review, answer.value, name) : []);
    } else if (answer.state === "refused" && answer.status === 409) {
      const now = await ask<IncidentPage>(path);
      if (now.state === "ready" && now.value.review.count !== review.count) {
        const said = changesBetween(review, now.value.review, (id) => nameIn(now.value, id));
        setMeanwhile({ page: now.value, said });
      }
    }
    return answer;
  };
  const lookAgain = () => {
    if (meanwhile) setPage(meanwhile.page);
    setMeanwhile(null);
  };
  return { line, page, review, name, decide, meanwhile, lookAgain, news };
}

const nameIn = (page: IncidentPage, id: string): string =>
  page.people.find((person) => person.id === id)?.name ?? (id ? `person ${id}` : "Somebody");
