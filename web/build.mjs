// Bundles the page and writes it as a C++ source: node build.mjs OUT.cc
import { build } from "esbuild";
import { readFileSync, writeFileSync, mkdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));

async function bundle() {
  const result = await build({
    absWorkingDir: here,
    // solid is loaded when it is asked for, and stands by itself.
    entryPoints: { app: "app/main.tsx", worker: "app/worker.ts", solid: "features/machine/solid_scene.ts" },
    bundle: true,
    minify: true,
    format: "esm",
    target: "es2020",
    outdir: "/",
    write: false,
    legalComments: "none",
    loader: { ".woff2": "file" },
    assetNames: "[name]",
    logLevel: "warning",
  });
  return result.outputFiles.map((file) => [file.path, Buffer.from(file.contents)]);
}

const types = {
  html: "text/html; charset=utf-8",
  js: "text/javascript; charset=utf-8",
  css: "text/css; charset=utf-8",
  svg: "image/svg+xml",
  woff2: "font/woff2",
  webmanifest: "application/manifest+json",
};

function typeOf(path) {
  return types[path === "/" ? "html" : path.slice(path.lastIndexOf(".") + 1)];
}

// Bytes as one literal; octal escapes have a fixed length, so that no digit behind one joins it.
function literal(bytes) {
  let text = "";
  for (const byte of bytes) {
    const plain = byte >= 0x20 && byte < 0x7f && byte !== 0x22 && byte !== 0x5c && byte !== 0x3f;
    text += plain ? String.fromCharCode(byte) : "\\" + byte.toString(8).padStart(3, "0");
  }
  const lines = text.match(/(?:\\[0-7]{3}|[^\\]){1,2000}/g) ?? [""];
  return lines.map((line) => `"${line}"`).join("\n    ");
}

export async function pageFiles() {
  const files = [
    ["/", readFileSync(join(here, "app/index.html"))],
    ["/icon.svg", readFileSync(join(here, "app/icon.svg"))],
    ["/book.webmanifest", readFileSync(join(here, "app/book.webmanifest"))],
    ...(await bundle()),
  ];
  return files.map(([path, bytes]) => ({ path, bytes, type: typeOf(path) }));
}

function source(files) {
  const arrays = files.map((f, i) => `constexpr char kFile${i}[] =\n    ${literal(f.bytes)};\n`).join("");
  const rows = files.map((f, i) => `    {"${f.path}", "${f.type}", {kFile${i}, ${f.bytes.length}}}`).join(",\n");
  return `// Written by web/build.mjs.
#include "fitwright/server/page_files.h"

namespace fitwright::server {
namespace {

${arrays}
constexpr PageFile kFiles[] = {
${rows}};

}  // namespace

std::span<const PageFile> PageFiles() { return kFiles; }

}  // namespace fitwright::server
`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const out = process.argv[2];
  if (!out) throw new Error("usage: node build.mjs OUT.cc");
  mkdirSync(dirname(out), { recursive: true });
  writeFileSync(out, source(await pageFiles()));
}
