/** What is read in when a page of rates is opened: its name begins as the desk's, so that no phone keeps it. */

import type { Page } from "../route";
import { ChartsPage } from "./ChartsPage";
import { CraftPage } from "./CraftPage";
import { RatesPage } from "./RatesPage";
import "./rates.css";
import { SummaryPage } from "./SummaryPage";

export function RatePages({ page, params }: { page: Page; params: URLSearchParams }) {
  switch (page) {
    case "charts":
      return <ChartsPage params={params} />;
    case "craft":
      return <CraftPage params={params} />;
    case "summary":
      return <SummaryPage params={params} />;
    default:
      return <RatesPage params={params} />;
  }
}
