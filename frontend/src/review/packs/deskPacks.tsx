/** What is read in when a page of packs is opened: its name begins as the desk's, so that no phone keeps it. */

import type { Person } from "../../types.gen";
import { DraftPage } from "../drafts/DraftPage";
import { DraftsPage } from "../drafts/DraftsPage";
import type { Route } from "../route";
import { DifferencePage } from "./DifferencePage";
import { FitsPage } from "./FitsPage";
import { PacksPage } from "./PacksPage";
import "../rates/rates.css";
import "./packs.css";
import { RolloutPage } from "./RolloutPage";

export function PackPages({ route: { page, id, params }, person }: { route: Route; person: Person }) {
  switch (page) {
    case "difference":
      return <DifferencePage older={params.get("older")} newer={params.get("newer")} />;
    case "fits":
      return <FitsPage sha256={id} />;
    case "rollout":
      return <RolloutPage />;
    case "drafts":
      return <DraftsPage />;
    case "draft":
      return id ? <DraftPage id={id} params={params} /> : <DraftsPage />;
    default:
      return <PacksPage person={person} />;
  }
}
