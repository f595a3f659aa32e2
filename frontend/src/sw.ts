/** The offline shell. Caches the built chairside page and what it is made of, and nothing else: neither the log
 * (that is IndexedDB's), nor the server's answers, nor the desk, which needs the server anyway. */
/// <reference lib="webworker" />
import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute } from "workbox-precaching";
import { NavigationRoute, registerRoute } from "workbox-routing";

declare const self: ServiceWorkerGlobalScope & {
  __WB_MANIFEST: (string | { url: string; revision: string | null })[];
};

precacheAndRoute(self.__WB_MANIFEST, {
  // only what is on the list, by its own address: no guessing of `.html` or index pages
  cleanURLs: false,
  directoryIndex: "",
  ignoreURLParametersMatching: [],
});
cleanupOutdatedCaches();

// The app lives at `/` alone (its places are in the hash). Every other navigation goes to the server.
registerRoute(new NavigationRoute(createHandlerBoundToURL("index.html"), { allowlist: [/^\/(\?[^/]*)?$/] }));

// A new version waits until the person is between cases and says so.
self.addEventListener("message", (event) => {
  if ((event.data as { type?: unknown } | null)?.type === "take-over") void self.skipWaiting();
});

// The first worker takes the page that installed it, so that its next reload works without the server.
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
