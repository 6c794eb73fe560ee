// Makes dist/: the scripts, one style sheet, the type, and the licences of what is carried.
import { build } from "esbuild";
import { copyFile, mkdir, rm } from "node:fs/promises";

const out = "dist";
await rm(out, { recursive: true, force: true });
await mkdir(`${out}/licences`, { recursive: true });
await build({
  entryPoints: { app: "src/app.ts", turning: "src/turning/main.ts", style: "src/styles/style.css" },
  outdir: out,
  bundle: true,
  minify: true,
  format: "iife",
  target: ["es2022", "chrome110", "firefox115", "safari16"],
  loader: { ".ttf": "file" },
  assetNames: "fonts/[name]",
  legalComments: "none",
  logLevel: "warning",
});
await copyFile("node_modules/@expo-google-fonts/source-sans-3/LICENSE_FONT", `${out}/licences/source-sans-3.txt`);
await copyFile("node_modules/htmx.org/LICENSE", `${out}/licences/htmx.txt`);
await copyFile("node_modules/three/LICENSE", `${out}/licences/three.txt`);
