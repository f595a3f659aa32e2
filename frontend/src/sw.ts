/** The offline shell. Caches the built chairside page and what it is made of, and nothing else: neither the log
 * (that is IndexedDB's), nor the server's answers, nor the desk, which needs the server anyway.
 *
 * Which build is shown is a choice of its own, apart from which worker is active: a browser activates a waiting
 * worker by itself once the app has been closed, and phones close apps in mid-case. So the choice is a note beside
 * the cache, and only the person between cases changes it. */
/// <reference lib="webworker" />
import { cleanupOutdatedCaches, PrecacheController, PrecacheRoute } from "workbox-precaching";
import { NavigationRoute, registerRoute } from "workbox-routing";

declare const self: ServiceWorkerGlobalScope & {
  __WB_MANIFEST: (string | { url: string; revision: string | null })[];
};

/** Two notes that the page reads too: the build that is shown, and the newest one that is whole on this phone. */
const NOTES = "chinrest-app";
const SHOWN = "/shown";
const NEWEST = "/newest";

const controller = new PrecacheController();
controller.addToCacheList(self.__WB_MANIFEST);
/** This build's page under its revision: its name, and its key in the cache. */
const mine = controller.getCacheKeyForURL("index.html") ?? "";

async function note(name: string, build: string): Promise<void> {
  await (await caches.open(NOTES)).put(name, new Response(build));
}

async function shown(): Promise<string | null> {
  return (await (await caches.open(NOTES)).match(SHOWN))?.text() ?? null;
}

async function kept(key: string): Promise<Response | undefined> {
  return (await caches.open(controller.strategy.cacheName)).match(key);
}

registerRoute(
  new PrecacheRoute(controller, {
    // only what is on the list, by its own address: no guessing of `.html` or index pages
    cleanURLs: false,
    directoryIndex: "",
    ignoreURLParametersMatching: [],
  }),
);
// what the shown build is made of may not be on this build's list
registerRoute(
  ({ url, sameOrigin }) => sameOrigin && url.pathname.startsWith("/assets/"),
  async ({ request }) => (await kept(request.url)) ?? fetch(request),
);
// The app lives at `/` alone (its places are in the hash). Every other navigation goes to the server.
registerRoute(
  new NavigationRoute(
    async ({ request }) => (await kept((await shown()) ?? mine)) ?? (await kept(mine)) ?? fetch(request),
    { allowlist: [/^\/(\?[^/]*)?$/] },
  ),
);
cleanupOutdatedCaches();

self.addEventListener("install", (event) => {
  const installed = async (): Promise<void> => {
    await controller.install(event);
    if ((await shown()) === null) await note(SHOWN, mine);
    await note(NEWEST, mine);
  };
  event.waitUntil(installed());
});

// The first worker takes the page that installed it, so that its next reload works without the server.
self.addEventListener("activate", (event) => {
  const activated = async (): Promise<void> => {
    if ((await shown()) === mine) await controller.activate(event); // an earlier build that is shown stays whole
    await self.clients.claim();
  };
  event.waitUntil(activated());
});

self.addEventListener("message", (event) => {
  if ((event.data as { type?: unknown } | null)?.type !== "take-over") return;
  const takeOver = async (): Promise<void> => {
    await note(SHOWN, mine);
    await self.skipWaiting();
    await controller.activate(event); // where this worker was active already, nothing else clears the earlier build
    event.source?.postMessage({ type: "taken-over" });
  };
  event.waitUntil(takeOver());
});
