import { VitePWA } from "vite-plugin-pwa";
import { defineConfig } from "vitest/config";

export default defineConfig({
  oxc: { jsx: { runtime: "automatic", importSource: "preact" } },
  build: {
    target: "es2022",
    assetsInlineLimit: 0, // data: addresses would need a wider content security policy
    modulePreload: { polyfill: false },
    rollupOptions: {
      input: { index: "index.html", desk: "desk.html" },
      output: {
        // what a cold start reads, in few files: each by itself would be compressed without the others' words
        codeSplitting: {
          groups: [
            {
              name: "start",
              test: /src\/(chairside\/(?!main)|log\/|pack\/|kernel\/)|node_modules\/idb\//,
              tags: ["$initial"],
            },
            {
              name: "deskPlot", // what several of the desk's pages draw with; so named, no phone keeps it
              test: /src\/review\/rates\/(plot\/|rates\.css)|node_modules\/(d3-|internmap)/,
            },
            {
              name: "deskShared", // what the desk's own pages and those that are read in later both use
              test: /src\/review\//,
              minShareCount: 2,
            },
          ],
          includeDependenciesRecursively: false,
        },
      },
    },
  },
  plugins: [
    VitePWA({
      strategies: "injectManifest",
      srcDir: "src",
      filename: "sw.ts",
      injectRegister: false,
      manifest: false, // public/manifest.webmanifest, written by hand
      injectManifest: {
        // the chairside shell only: the desk needs the server anyway
        globPatterns: ["index.html", "assets/**/*.{js,css}", "icons/*", "manifest.webmanifest"],
        globIgnores: ["desk.html", "assets/desk*"],
      },
    }),
  ],
  server: { proxy: { "/api": "http://127.0.0.1:8480" } },
  test: {
    environment: "node",
    include: ["src/**/*.test.ts"],
    setupFiles: ["random.setup.ts"],
    testTimeout: 120_000, // only for what hangs: a busy machine is no fault
  },
});
