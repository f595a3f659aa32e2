import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import { app, shut } from "./app";
import { later } from "./later";
import { Overlays } from "./overlays/Overlays";
import { place, route } from "./router";
import { CasePage } from "./screens/CasePage";
import { Home } from "./screens/Home";
import { StorageTrouble } from "./screens/Trouble";

const Enrol = later(() => import("./further").then((m) => m.Enrol));
const NewCase = later(() => import("./further").then((m) => m.NewCase));
const Settings = later(() => import("./further").then((m) => m.Settings));
const Unsent = later(() => import("./further").then((m) => m.Unsent));
const Light = later(() => import("./aside").then((m) => m.Light));
const Card = later(() => import("./aside").then((m) => m.Card));

export function Root() {
  const failure = app.log.failure.value;
  const address = place.value;
  useEffect(() => {
    // a new place is read out from its top; the overlays look after their own focus
    scrollTo(0, 0);
    document.getElementById("main")?.focus({ preventScroll: true });
  }, [address]);

  return (
    <>
      {failure ? <StorageTrouble failure={failure} /> : <Page />}
      <Overlays />
    </>
  );
}

function Page(): ComponentChildren {
  if (app.log.device.value === null) return <Enrol />;
  const Shut = shut.value;
  if (Shut) return <Shut />;
  void place.value; // drawn anew with the place, not with what lies over it
  const here = route.peek();
  switch (here.page) {
    case "home":
    case "enrol":
      return <Home askedCode={here.page === "enrol"} />;
    case "new":
      return <NewCase />;
    case "settings":
      return <Settings />;
    case "unsent":
      return <Unsent />;
    case "light":
      return <Light tail={here.tail} />;
    case "card":
      return <Card tail={here.tail} />;
    case "case":
      return <CasePage key={here.id} id={here.id} screen={here.screen} tail={here.tail} />;
  }
}
