import type { FunctionComponent } from "preact";
import { useEffect, useState } from "preact/hooks";
import { Loading } from "../../ui";
import { Waiting } from "../parts/states";
import type { Page } from "../route";

type Pages = FunctionComponent<{ page: Page; params: URLSearchParams }>;

let read: Pages | null = null;

/** The pages of rates with their pictures, read in when the first of them is opened. */
export function RatesLater({ page, params }: { page: Page; params: URLSearchParams }) {
  const [Pages, setPages] = useState<Pages | null>(() => read);
  const [failed, setFailed] = useState(false);
  const [round, setRound] = useState(0);
  useEffect(() => {
    if (read) return;
    setFailed(false);
    import("./deskRates").then(
      (loaded) => {
        read = loaded.RatePages;
        setPages(() => loaded.RatePages);
      },
      () => setFailed(true), // no answer, or a newer server without this file
    );
  }, [round]);
  if (Pages) return <Pages page={page} params={params} />;
  if (failed)
    return <Waiting answer={{ state: "offline" }} what="this page" again={() => setRound((n) => n + 1)} />;
  return <Loading>Opening …</Loading>;
}
