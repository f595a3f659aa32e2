import type { FunctionComponent } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Person } from "../../types.gen";
import { Loading } from "../../ui";
import { Waiting } from "../parts/states";
import type { Route } from "../route";

type Pages = FunctionComponent<{ route: Route; person: Person }>;

let read: Pages | null = null;

/** The lead's pages of packs, read in when the first of them is opened. */
export function PacksLater({ route, person }: { route: Route; person: Person }) {
  const [Pages, setPages] = useState<Pages | null>(() => read);
  const [failed, setFailed] = useState(false);
  const [round, setRound] = useState(0);
  useEffect(() => {
    if (read) return;
    setFailed(false);
    import("./deskPacks").then(
      (loaded) => {
        read = loaded.PackPages;
        setPages(() => loaded.PackPages);
      },
      () => setFailed(true), // no answer, or a newer server without this file
    );
  }, [round]);
  if (Pages) return <Pages route={route} person={person} />;
  if (failed)
    return <Waiting answer={{ state: "offline" }} what="this page" again={() => setRound((n) => n + 1)} />;
  return <Loading>Opening …</Loading>;
}
