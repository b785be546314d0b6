// Many who use the page at once: what a request takes by the wall and by the server's processor time.
// Usage: node bench/load.mjs PROJECT_FOLDER [SECONDS [CLIENTS]] (with its plan.json; a copy of it is
// served on loopback by build/release/fitwright, or by the program in FITWRIGHT_PROGRAMS).
// Each client asks something some three times a second: mostly how the build stands, now and then
// the pages behind it; one request in forty keeps a step or a note, one in four hundred a reading.
import { spawn } from "node:child_process";
import { randomBytes } from "node:crypto";
import { cpSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { Agent, request } from "node:http";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = join(dirname(fileURLToPath(import.meta.url)), "..");
const programs = process.env.FITWRIGHT_PROGRAMS ?? join(root, "build/release");
const [from, seconds = 300, clients = 20] = process.argv.slice(2).map((word, i) => (i === 0 ? word : Number(word)));
if (!from) throw new Error("usage: node bench/load.mjs PROJECT_FOLDER [SECONDS [CLIENTS]]");

const place = mkdtempSync(join(tmpdir(), "fitwright-load-"));
const dir = join(place, "project");
cpSync(from, dir, { recursive: true, filter: (path) => !path.includes("build.db") });
const program = spawn(join(programs, "fitwright"), ["serve", dir], { env: { ...process.env, XDG_CACHE_HOME: join(place, "cache") } });
const address = await new Promise((resolve, reject) => {
  let said = "";
  program.stdout.on("data", (bytes) => {
    said += bytes;
    const found = /http:\/\/\S+/.exec(said);
    if (found) resolve(new URL(found[0]));
  });
  program.on("exit", (status) => reject(new Error(`serve ended with ${status}: ${said}`)));
});

// Of all its threads, in milliseconds; a tick is a hundredth of a second.
function processorMs() {
  const fields = readFileSync(`/proc/${program.pid}/stat`, "latin1").split(") ")[1].split(" ");
  return 10 * (Number(fields[11]) + Number(fields[12]));
}
function ask(agent, path, options = {}) {
  return new Promise((resolve, reject) => {
    const sent = request({ host: "127.0.0.1", port: address.port, path, agent, method: options.body ? "POST" : "GET", headers: options.headers }, (answer) => {
      let body = "";
      answer.setEncoding("utf8");
      answer.on("data", (text) => (body += text));
      answer.on("end", () => resolve({ status: answer.statusCode, body }));
    });
    sent.on("error", reject);
    sent.end(options.body);
  });
}

const times = { look: [], pages: [], write: [], reading: [] };
const wrong = [];
const first = new Agent({ keepAlive: true });
const token = JSON.parse((await ask(first, "/api/token")).body).token;
const book = JSON.parse((await ask(first, "/api/report?unit=mm")).body);
const measured = book.setups.flatMap((setup) => setup.steps.filter((step) => step.measure).map((step) => ({ step, part: setup.parts[0] ?? "" })));
const pages = ["/api/project?unit=mm", "/api/report?unit=mm", "/api/parts?unit=mm", "/api/shop?unit=mm", "/api/check", "/", "/api/planning"];

function pick(list) {
  return list[Math.floor(Math.random() * list.length)];
}
function eventOf(kind) {
  const { step, part } = pick(measured);
  const event = { id: randomBytes(16).toString("hex"), time_ms: Date.now(), build: 1, plan: book.plan, kind, part, step: step.id, text: kind === "note" ? "said under load" : "" };
  if (kind !== "reading") return event;
  const { lower_mm, upper_mm } = step.measure;
  const value_mm = Number((lower_mm + (0.3 + 0.4 * Math.random()) * (upper_mm - lower_mm)).toFixed(4));
  return { ...event, value_mm, typed: `${value_mm}mm`, instrument: "" };
}
function writing(kind) {
  return {
    body: JSON.stringify({ schema: "fitwright-events/1", events: [eventOf(kind)] }),
    headers: { "Content-Type": "application/json", "Fitwright-Token": token },
  };
}
async function timed(kind, agent, path, options) {
  const begun = performance.now();
  const answer = await ask(agent, path, options);
  times[kind].push(performance.now() - begun);
  if (answer.status !== 200) wrong.push(`${path}: ${answer.status} ${answer.body.slice(0, 200)}`);
}
async function client(until) {
  const agent = new Agent({ keepAlive: true, maxSockets: 1 });
  while (performance.now() < until) {
    const dice = Math.random();
    try {
      if (dice < 1 / 400) await timed("reading", agent, "/api/events?build=1&unit=mm", writing("reading"));
      else if (dice < 1 / 40) await timed("write", agent, "/api/events?build=1&unit=mm", writing(pick(["note", "step_done", "step_undone"])));
      else if (dice < 1 / 4) await timed("pages", agent, pick(pages));
      else await timed("look", agent, "/api/build?build=1&unit=mm");
    } catch (error) {
      wrong.push(String(error));
    }
    await new Promise((resolve) => setTimeout(resolve, 600 * Math.random()));
  }
  agent.destroy();
}
function line(what, list) {
  if (list.length === 0) return;
  const sorted = [...list].sort((a, b) => a - b);
  const at = (share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))].toFixed(1);
  console.log(`${what.padEnd(24)} ${String(list.length).padStart(6)}: median ${at(0.5)} ms, 99 of 100 ${at(0.99)} ms, greatest ${at(1)} ms`);
}

const busy = processorMs();
const begun = performance.now();
await Promise.all(Array.from({ length: clients }, () => client(begun + 1000 * seconds)));
const spent = processorMs() - busy;
const all = Object.values(times).flat();
line("all", all);
for (const [what, list] of Object.entries(times)) line(what, list);
console.log(`processor: ${(spent / all.length).toFixed(2)} ms a request, ${((100 * spent) / (performance.now() - begun)).toFixed(0)} in 100 of one core`);
console.log(`errors: ${wrong.length}${wrong.length > 0 ? `, first: ${wrong[0]}` : ""}`);
first.destroy();
const ended = new Promise((resolve) => program.on("exit", resolve));
program.kill("SIGTERM");
await ended;
rmSync(place, { recursive: true, force: true });
process.exitCode = wrong.length === 0 ? 0 : 1;
