import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { defineConfig, type Plugin } from "vite";

const BUNDLED = ["preact", "uplot"] as const;
const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

/** The licences of what is bundled go with it. */
function licences(): Plugin {
  return {
    name: "licences",
    generateBundle() {
      const parts = BUNDLED.map((name) => {
        const { version } = JSON.parse(readFileSync(here(`node_modules/${name}/package.json`), "utf8")) as { version: string };
        return `${name} ${version}\n\n${readFileSync(here(`node_modules/${name}/LICENSE`), "utf8").trim()}\n`;
      });
      this.emitFile({ type: "asset", fileName: "third-party.txt", source: parts.join("\n----\n\n") });
    },
  };
}

export default defineConfig({
  base: "/",
  oxc: { jsx: { runtime: "automatic", importSource: "preact" } },
  plugins: [licences()],
  build: {
    outDir: process.env["SLOWPHASE_STATIC"] ?? here("../src/slowphase/workbench/static"),
    emptyOutDir: true,
    target: "es2022",
    sourcemap: false,
    modulePreload: false,
    assetsInlineLimit: 0,
    cssCodeSplit: false,
    reportCompressedSize: false,
    rolldownOptions: {
      output: { entryFileNames: "app.js", assetFileNames: "app[extname]", codeSplitting: false },
    },
  },
});
