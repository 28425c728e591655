import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

const here = fileURLToPath(new URL(".", import.meta.url));

/** Everything the pages need comes from the same server: no inline scripts or styles, no data: addresses (the CSP allows none). */
export default defineConfig({
  root: here,
  base: "/",
  // The same reader of CSV as on the server, in its build for browsers.
  resolve: { alias: { "csv-parse/sync": "csv-parse/browser/esm/sync" } },
  build: {
    outDir: fileURLToPath(new URL("../../dist/board", import.meta.url)),
    emptyOutDir: true,
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: false,
    rolldownOptions: {
      input: { index: `${here}index.html`, sw: `${here}sw.ts` },
      // The service worker is asked for by its name.
      output: { entryFileNames: (chunk) => (chunk.name === "sw" ? "sw.js" : "assets/[name]-[hash].js") },
    },
  },
  worker: { format: "es" },
});
