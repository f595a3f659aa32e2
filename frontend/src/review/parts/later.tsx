import { createElement, type FunctionComponent } from "preact";
import { useEffect, useState } from "preact/hooks";
import { Loading } from "../../ui";
import { Waiting } from "./states";

/** Pages that are read in when the first of them is opened, and stay read. */
export function later<P extends object>(load: () => Promise<FunctionComponent<P>>): FunctionComponent<P> {
  let read: FunctionComponent<P> | null = null;
  return function Later(props: P) {
    const [Pages, setPages] = useState<FunctionComponent<P> | null>(() => read);
    const [failed, setFailed] = useState(false);
    const [round, setRound] = useState(0);
    useEffect(() => {
      if (read) return;
      setFailed(false);
      load().then(
        (loaded) => {
          read = loaded;
          setPages(() => loaded);
        },
        () => setFailed(true), // no answer, or a newer server without this file
      );
    }, [round]);
    if (Pages) return createElement(Pages, props);
    if (failed)
      return <Waiting answer={{ state: "offline" }} what="this page" again={() => setRound((n) => n + 1)} />;
    return <Loading>Opening …</Loading>;
  };
}
