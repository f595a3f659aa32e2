import { signal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import type { Person } from "../types.gen";
import { type Answer, person, whoAmI } from "./api";
import { Keys } from "./keys/Keys";
import { Frame } from "./parts/Frame";
import { later } from "./parts/later";
import { Waiting } from "./parts/states";
import { closedTo, landing } from "./roles";
import { type Page, parseRoute, type Route } from "./route";
import { CaseScreen } from "./screens/Case";
import { DevicesScreen } from "./screens/Devices";
import { EnrolScreen } from "./screens/Enrol";
import { IncidentScreen } from "./screens/Incident";
import { IncidentsScreen } from "./screens/Incidents";
import { ReportScreen } from "./screens/Report";
import { SignIn } from "./screens/SignIn";

const route = signal<Route>(parseRoute(location.hash));
addEventListener("hashchange", () => {
  route.value = parseRoute(location.hash);
});

const asking = signal<Answer<Person> | null>(null);

async function askWho(): Promise<void> {
  asking.value = null;
  asking.value = await whoAmI();
}

const TITLES: Record<Page, string> = {
  incidents: "Incidents",
  incident: "Incident",
  report: "Report of a period",
  rates: "Rates",
  charts: "Charts",
  craft: "Comfort and craft",
  summary: "Rates of a period",
  case: "Case",
  devices: "Devices",
  enrol: "Enrol a device",
  packs: "Guidance packs",
  difference: "What differs between two packs",
  fits: "What each optic computes to",
  rollout: "Who has which pack",
  drafts: "Drafts of the next pack",
  draft: "Draft of a pack",
  retention: "Keeping and erasing",
  people: "People",
  account: "Your account",
  invitation: "Your invitation",
};

const RatesLater = later(() => import("./rates/deskRates").then((loaded) => loaded.RatePages));
const PacksLater = later(() => import("./packs/deskPacks").then((loaded) => loaded.PackPages));
const PeopleLater = later(() => import("./people/deskPeople").then((loaded) => loaded.PeoplePages));

const RetentionLater = later(() => import("./keeping/deskKeeping").then((loaded) => loaded.RetentionScreen));

export function Desk() {
  useEffect(() => void askWho(), []);
  const who = person.value;
  const page = who ? landing(route.value.page, who.role) : route.value.page;
  useEffect(() => {
    document.title =
      who || page === "invitation" ? `${TITLES[page]} · Chinrest desk` : "Sign in · Chinrest desk";
  }, [who, page]);

  if (page === "invitation") return <PeopleLater route={route.value} person={null} />;
  if (who === undefined) return <Waiting answer={asking.value} what="who is signed in" again={askWho} />;
  if (who === null) return <SignIn />;
  return (
    <Frame person={who} page={page}>
      <Keys page={page} />
      <Screen route={{ ...route.value, page }} person={who} />
    </Frame>
  );
}

function Screen({ route, person: who }: { route: Route; person: Person }) {
  const { page, id, params } = route;
  const closed = closedTo(page, who);
  if (closed !== null) {
    return (
      <div class="stack">
        <h1>{TITLES[page]}</h1>
        <Waiting
          answer={{
            state: "refused",
            status: 403,
            fault: { code: "role", where: "#", why: closed },
          }}
          what="this page"
        />
      </div>
    );
  }
  switch (page) {
    case "case":
      return <CaseScreen key={id} id={id ?? ""} line={params.get("line")} />;
    case "incident":
      return <IncidentScreen key={id} line={id ?? ""} part={params.get("part")} person={who} />;
    case "rates":
    case "charts":
    case "craft":
    case "summary":
      return <RatesLater page={page} params={params} />;
    case "report":
      return <ReportScreen params={params} />;
    case "devices":
      return <DevicesScreen person={who} />;
    case "enrol":
      return <EnrolScreen />;
    case "packs":
    case "difference":
    case "fits":
    case "rollout":
    case "drafts":
    case "draft":
      return <PacksLater route={route} person={who} />;
    case "people":
    case "account":
    case "invitation":
      return <PeopleLater route={route} person={who} />;
    case "retention":
      return <RetentionLater />;
    case "incidents":
      return <IncidentsScreen params={params} person={who} />;
  }
}
