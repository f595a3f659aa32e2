import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import type { IncidentPage, Review } from "../../types.gen";
import { type Answer, ask, post } from "../api";
import { changesBetween } from "./changes";

/** Somebody else changed the review since this page was read. */
export interface Meanwhile {
  page: IncidentPage;
  said: string[];
  /** Learnt by listening, before any decision of one's own was refused for it. */
  heard: boolean;
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
  /** A form is open until the returned function is called: what the person sees beside it then stands still. */
  writing: () => () => void;
  /** The next answer is shown even beside an open form: it was asked for. */
  follow: () => void;
}

export function useReview(line: string, first: IncidentPage): Reviewing {
  const [page, setPage] = useState(first);
  const [meanwhile, setMeanwhile] = useState<Meanwhile | null>(null);
  const [news, setNews] = useState<string[]>([]);
  const [forms, setForms] = useState(0);
  const following = useRef(true);
  const writing = useCallback(() => {
    setForms((n) => n + 1);
    return () => setForms((n) => n - 1);
  }, []);
  const follow = useCallback(() => {
    following.current = true;
  }, []);
  useEffect(() => {
    const newer = first.review.count - page.review.count;
    if (newer < 0) return; // asked for before one's own last decision
    const said = newer ? changesBetween(page.review, first.review, (id) => nameIn(first, id)) : [];
    if (said.length > 0 && forms > 0 && !following.current) {
      setMeanwhile((old) => ({ page: first, said, heard: old?.heard ?? true }));
      return;
    }
    if (said.length > 0 && !following.current) setNews(said);
    following.current = false;
    setMeanwhile((old) => (old?.heard ? null : old));
    setPage(first);
  }, [first, forms]);
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
        setMeanwhile({ page: now.value, said, heard: false });
      }
    }
    return answer;
  };
  const lookAgain = () => {
    if (meanwhile) setPage(meanwhile.page);
    setMeanwhile(null);
  };
  return { line, page, review, name, decide, meanwhile, lookAgain, news, writing, follow };
}

const nameIn = (page: IncidentPage, id: string): string =>
  page.people.find((person) => person.id === id)?.name ?? (id ? `person ${id}` : "Somebody");
