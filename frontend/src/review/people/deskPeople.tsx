/** What is read in when a page of people is opened: its name begins as the desk's, so that no phone keeps it. */

import type { Person } from "../../types.gen";
import type { Route } from "../route";
import { AccountPage } from "./AccountPage";
import { InvitationPage } from "./InvitationPage";
import { PeoplePage } from "./PeoplePage";

export function PeoplePages({ route, person }: { route: Route; person: Person | null }) {
  if (route.page === "invitation") return <InvitationPage token={route.id ?? ""} />;
  if (person === null) return null; // every other page stands behind the sign-in
  return route.page === "people" ? <PeoplePage person={person} /> : <AccountPage person={person} />;
}
