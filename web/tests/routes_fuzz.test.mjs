// Every address of the server, asked wrongly in every way that a made-up request can be: only answers and clear refusals, nothing outside the
// project touched, and the server goes on. Requests are those of fuzz/corpus/routes, changed; a request that was answered badly joins them.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { chmodSync, copyFileSync, cpSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { createConnection } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";
import { brotliDecompressSync, gunzipSync } from "node:zlib";
import { planned, root } from "./served.mjs";

const deep = process.env.FITWRIGHT_DEEP !== undefined;
const most = deep ? { processor_s: 600, wall_s: 3000 } : { processor_s: 5, wall_s: 10 };
const atOnce = deep ? 64 : 8;  // many wait until the program gives up on what they left unsaid
const seed = Number(process.env.FITWRIGHT_SEED ?? 1);
const programs = process.env.FITWRIGHT_PROGRAMS ?? join(root, "build/release");
const folder = join(root, "fuzz/corpus/routes");
const corpus = readdirSync(folder).sort().map((name) => readFileSync(join(folder, name), "latin1"));

// The same numbers for the same seed (a linear congruence of 32 bits, its high bits mixed in).
let state = seed >>> 0;
function chance(below) {
  state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
  return ((state ^ (state >>> 15)) >>> 0) % below;
}
const pick = (list) => list[chance(list.length)];

const strangeValues = ["", "0", "-1", "1e3", "99999999999999999999", "mm", "inch", "furlong", "../../etc/passwd", "%00", "%2e%2e%2f", "%", "%zz", "a".repeat(70), "\u00e4", "1&unit=mm&unit=mm", "'\"<script>", "1;2", "\x7f", "NaN"];
const strangePaths = ["/", "//", "/api", "/api/", "/api/../machine.toml", "/..%2f..%2fsecret.txt", "/%2e%2e/secret.txt", "/plan.json", "/build.db", "/api/live/", "/api/none", "*", "http://evil.example/", "/api/project#x", "/api/plan/..", `/${"a".repeat(9000)}`, "/api/drawing%00", "/\\..\\secret.txt", "/./", "/api/token/"];
const strangeHeaders = ["Host: evil.example", "Host: ", "Origin: http://evil.example", "Origin: null", "Sec-Fetch-Site: cross-site", "Sec-Fetch-Site: same-site", "Transfer-Encoding: chunked", "Transfer-Encoding: identity, chunked", "Content-Length: 5", "Content-Length: -1", "Content-Length: 99999999999999999999", "Content-Length: 0x10", "Content-Type: text/html", "Content-Type: multipart/form-data; boundary=x", "Fitwright-Token: 0", `Fitwright-Token: ${"0".repeat(32)}`, "Fitwright-Token: {old_token}", "Cookie: fitwright-device=../../x", "Range: bytes=1-0", "Range: bytes=0-,0-,0-", "Expect: 100-continue", "Upgrade: websocket", "Connection: upgrade", `X: ${"y".repeat(9000)}`, ": empty", "No colon", "X:\x00\x01", "Accept-Encoding: gzip, br", "If-None-Match: *", "X-Forwarded-Host: evil.example"];
const strangeJson = [null, true, -1, 0, 1e308, 4294967296, 9007199254740993, "", "x".repeat(5000), [], {}, [[[[[[]]]]]], { a: { b: {} } }, "\u0000", "../..", "2024-01-01", 0.1, "\ud83d\ude00", "s99.9", "ffffffffffffffffffffffffffffffff"];
const strangeBytes = ["\x00", "\xff\xfe", "\xc0\xaf", "\r\n\r\n", "\n", "{", "}", "[".repeat(3000), "\"", "\\u0000", "\\ud800", "0x", "1e999", ",,", "\t"];

function splitRequest(text) {
  const end = text.indexOf("\r\n\r\n");
  const [first, ...headers] = text.slice(0, end).split("\r\n");
  const [method, target, version] = first.split(" ");
  return { method, target, version, headers, body: text.slice(end + 4), cut: 0, raw: (all) => all };
}
function changeJson(body) {
  let json;
  try {
    json = JSON.parse(body);
  } catch {
    return body;
  }
  const places = [];
  const walk = (at) => {
    for (const key of Object.keys(at)) {
      places.push([at, key]);
      if (at[key] !== null && typeof at[key] === "object") walk(at[key]);
    }
  };
  walk(json);
  if (places.length === 0) return body;
  const [at, key] = pick(places);
  const way = chance(4);
  if (way === 0) delete at[key];
  else if (way === 1 && Array.isArray(at)) at.push(structuredClone(at[key]));
  else if (way === 2) at[`${key}_`] = at[key];
  else at[key] = structuredClone(pick(strangeJson));
  return Buffer.from(JSON.stringify(json), "utf8").toString("latin1");
}
function bend(text) {
  const at = chance(text.length + 1);
  const way = chance(4);
  if (way === 0) return text.slice(0, at) + pick(strangeBytes) + text.slice(at);
  if (way === 1) return text.slice(0, at) + text.slice(at + 1 + chance(8));
  if (way === 2) return text.slice(0, at) + String.fromCharCode(chance(256)) + text.slice(at + 1);
  return text.slice(0, at) + text.slice(chance(text.length + 1));
}
const changes = [
  (r) => (r.method = pick(["GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "CONNECT", "get", "", "BREW", "G".repeat(3000)])),
  (r) => (r.target = pick(strangePaths)),
  (r) => (r.target = bend(r.target)),
  (r) => (r.target += `${r.target.includes("?") ? "&" : "?"}${pick(["unit", "build", "setup", "kind", "sheet", "name", "material", "x", ""])}=${pick(strangeValues)}`),
  (r) => (r.target = r.target.replace(/=[^&]*/, () => `=${pick(strangeValues)}`)),
  (r) => r.headers.push(pick(strangeHeaders)),
  (r) => r.headers.splice(chance(r.headers.length), 1),
  (r) => (r.headers[chance(r.headers.length)] = pick(strangeHeaders)),
  (r) => r.headers.push(pick(r.headers) ?? pick(strangeHeaders)),  // all may be gone
  (r) => (r.headers = r.headers.map((h) => h.replace("{token}", "{old_token}"))),
  (r) => (r.body = changeJson(r.body)),
  (r) => (r.body = changeJson(changeJson(r.body))),
  (r) => (r.body = bend(r.body)),
  (r) => (r.body += pick(["x", " ", "\x00", "{}"]).repeat(1 + chance(300000))),
  (r) => (r.version = pick(["HTTP/1.0", "HTTP/0.9", "HTTP/2.0", "HTTP/1.1 ", "", "ICY"])),
  (r) => (r.raw = (all) => bend(all)),
  (r) => (r.raw = (all) => all.replaceAll("\r\n", "\n")),
  (r) => (r.raw = (all) => all + all),
  (r) => (r.cut = 1 + chance(200)),
];

function made(names) {
  const r = splitRequest(pick(corpus));
  const fill = (text) => text.replace(/\{(host|token|old_token|plan)\}/g, (_, name) => names[name]);
  for (let i = chance(4); i >= 0; --i) pick(changes)(r);
  r.body = fill(r.body);
  const head = fill([`${r.method} ${r.target} ${r.version}`, ...r.headers].join("\r\n")).replace("{length}", String(r.body.length));
  const all = r.raw(`${head}\r\n\r\n${r.body}`);
  return Buffer.from(r.cut > 0 ? all.slice(0, -r.cut) : all, "latin1");
}

// What comes back within the server's patience; the connection is ended as soon as one answer is whole.
function send(port, bytes) {
  return new Promise((resolve) => {
    let answer = "";
    const socket = createConnection({ port, host: "127.0.0.1" });
    const end = () => {
      clearTimeout(waiting);
      socket.destroy();
      resolve(answer);
    };
    // The server waits for what is missing of a request; after a second few wait with it. The connection stays open both
    // ways: a server need not answer who has hung up.
    const waiting = setTimeout(end, 1000 * (chance(16) === 0 ? 1 + chance(8) : 1));
    socket.on("connect", () => socket.write(bytes));
    socket.on("data", (text) => {
      answer += text.toString("latin1");
      if (/^HTTP\/1\.[01] 200[^]*text\/event-stream[^]*\r\n\r\n/.test(answer)) end();
    });
    socket.on("close", end);
    socket.on("error", end);
  });
}

function plainOf(body, encoding) {
  const bytes = Buffer.from(body, "latin1");
  return (encoding === "br" ? brotliDecompressSync(bytes) : encoding === "gzip" ? gunzipSync(bytes) : bytes).toString();
}

// Of every answer that came on the connection: what is not a request to its end may be read as several.
function faultOf(answer) {
  for (const head of answer.matchAll(/HTTP\/1\.[01] (\d{3})[^\r\n]*\r\n([^]*?)\r\n\r\n/g)) {
    const status = Number(head[1]);
    if ([100, 200, 206, 304].includes(status)) continue;
    if (!(status >= 400 && status < 500)) return `status ${status}`;
    const length = Number(/^content-length: (\d+)/im.exec(head[2])?.[1] ?? 0);
    const body = answer.slice(head.index + head[0].length).slice(0, length);
    if (body === "" || body.startsWith("HTTP/1.")) continue;  // of HEAD
    try {
      const said = JSON.parse(plainOf(body, /^content-encoding: (\w+)/im.exec(head[2])?.[1]));
      if (said.schema !== "fitwright-errors/1" || said.errors[0].message.length < 10) return `no clear words: ${body}`;
    } catch {
      return `no JSON: ${body.slice(0, 300)}`;
    }
  }
  // Where no request came to an end the connection is closed without words.
  return answer === "" || answer.startsWith("HTTP/1.") ? undefined : `no answer: ${answer.slice(0, 300)}`;
}

// The program beside one that draws nothing much and refuses all else, so that what is asked of solids costs nothing.
function standIns(place) {
  const bin = join(place, "bin");
  mkdirSync(bin);
  copyFileSync(join(programs, "fitwright"), join(bin, "fitwright"));
  writeFileSync(join(bin, "fitwright-solid"), '#!/bin/sh\n[ "$1" = draw ] || exit 2\nmkdir -p "$4"\nfor k in "" -holes; do echo "<svg/>" > "$4/setup-0$6$k-block.svg"; done\n');
  chmodSync(join(bin, "fitwright-solid"), 0o755);
  return join(bin, "fitwright");
}
async function start(program, dir, cache) {
  const running = spawn(program, ["serve", dir, "--port", String(20000 + (process.pid % 20000))], { env: { ...process.env, XDG_CACHE_HOME: cache } });
  const server = { running, said: "", ended: undefined };
  running.stderr.on("data", (bytes) => (server.said += bytes));
  server.over = new Promise((resolve) => running.on("exit", (status, signal) => resolve((server.ended = status ?? signal))));
  server.address = await new Promise((resolve, reject) => {
    let out = "";
    running.stdout.on("data", (bytes) => {
      out += bytes;
      const found = /http:\/\/\S+/.exec(out);
      if (found) resolve(new URL(found[0]));
    });
    server.over.then((how) => reject(new Error(`serve ended with ${how}: ${out}${server.said}`)));
  });
  server.token = (await (await fetch(new URL("/api/token", server.address))).json()).token;
  return server;
}
function processorSeconds(pid) {
  const fields = readFileSync(`/proc/${pid}/stat`, "latin1").split(") ")[1].split(" ");
  return (Number(fields[11]) + Number(fields[12])) / 100;
}

test(`made-up requests, seed ${seed}: answers and clear refusals only`, async () => {
  const place = mkdtempSync(join(tmpdir(), "fitwright-fuzz-"));
  const dir = join(place, "project");
  cpSync(planned({ ...process.env, XDG_CACHE_HOME: join(place, "cache") }), dir, { recursive: true });
  writeFileSync(join(place, "secret.txt"), "secret that nobody is told\n");
  writeFileSync(join(place, "secret.toml"), "a = 1\n");
  const program = standIns(place);
  const before = await start(program, dir, join(place, "cache"));
  before.running.kill("SIGTERM");
  await before.over;
  const server = await start(program, dir, join(place, "cache"));
  const plan = (await (await fetch(new URL("/api/report?unit=mm", server.address))).json()).plan;
  const names = { host: server.address.host, token: server.token, old_token: before.token, plan };
  const begun = performance.now();
  let sent = 0;
  const statuses = new Map();
  const goesOn = () => processorSeconds(server.running.pid) < most.processor_s && performance.now() - begun < 1000 * most.wall_s;
  // Each sends one after the other: what waits holds up nobody else.
  await Promise.all(Array.from({ length: atOnce }, async () => {
    while (goesOn()) {
      const bytes = made(names);
      const answer = await send(Number(server.address.port), bytes);
      const fault = faultOf(answer) ?? (answer.includes("secret that nobody is told") ? "a file outside the project" : undefined);
      if (fault) {
        writeFileSync(join(programs, "routes-fuzz-found.http"), bytes);
        assert.fail(`${fault}\nto ${JSON.stringify(bytes.toString("latin1").slice(0, 2000))}\n(all of it: ${join(programs, "routes-fuzz-found.http")})`);
      }
      const status = answer.slice(9, 12);
      statuses.set(status, (statuses.get(status) ?? 0) + 1);
      if (++sent % 256 !== 0) continue;
      assert.equal(server.ended, undefined, server.said);
      assert.equal((await fetch(new URL("/api/build", server.address))).status, 200);
    }
  }));
  server.running.kill("SIGTERM");
  assert.equal(await server.over, 0, server.said);
  assert.equal(server.said, "");
  assert.equal(readFileSync(join(place, "secret.toml"), "utf8"), "a = 1\n");
  assert.deepEqual(readdirSync(place).filter((name) => name !== "cache").sort(), ["bin", "project", "secret.toml", "secret.txt"]);
  assert.ok(sent >= (deep ? 1000 : 30), `${sent} sent`);  // some ask for odds or drawings, which take seconds
  console.log(`${sent} requests: ${[...statuses].sort().map(([status, count]) => `${status || "none"} ${count}`).join(", ")}`);
  rmSync(place, { recursive: true, force: true });
});
