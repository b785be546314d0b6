// A project served by the real program, and a real browser to look at it.
import { spawn, spawnSync } from "node:child_process";
import { cpSync, existsSync, mkdirSync, mkdtempSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

export const root = join(dirname(fileURLToPath(import.meta.url)), "../..");
export const programs = process.env.FITWRIGHT_PROGRAMS ?? join(root, "build/release");
const browserAt = ["/usr/bin/chromium", "/usr/bin/chromium-browser"].find((path) => existsSync(path));

export const sizes = {
  phone: { width: 390, height: 844 },
  tablet: { width: 1280, height: 800 },
  desktop: { width: 1680, height: 1050 },
};

const isOfThisProgram = (file) => existsSync(file) && statSync(file).mtimeMs > statSync(join(programs, "fitwright")).mtimeMs;

// The example with a plan; planned once and kept while it is that of the sheets and of this program.
export function planned(environment) {
  const kept = join(programs, "page-test/bushed-block");
  const example = join(root, "examples/bushed-block");
  mkdirSync(dirname(kept), { recursive: true });
  cpSync(example, kept, { recursive: true });
  const fresh = isOfThisProgram(join(kept, "plan.json"))
    ? spawnSync(join(programs, "fitwright"), ["odds", kept, "--builds", "100"], { encoding: "utf8", env: environment })
    : undefined;
  if (fresh?.status === 0 && !fresh.stdout.includes("older than the sheets")) return kept;
  const made = spawnSync(join(programs, "fitwright"), ["plan", kept], { encoding: "utf8", env: environment });
  if (made.status !== 0) throw new Error(`no plan: ${made.stdout}${made.stderr}`);
  return kept;
}

// options: project (a folder to copy), withoutPlan, empty, or place: of one served before, to go on with; port.
export async function serve(options = {}) {
  const place = options.place ?? mkdtempSync(join(tmpdir(), "fitwright-page-"));
  const environment = { ...process.env, XDG_CACHE_HOME: process.env.FITWRIGHT_PAGE_CACHE ?? join(place, "cache") };
  const dir = join(place, "project");
  if (options.empty) mkdirSync(dir);
  else if (!options.place) cpSync(options.project ?? planned(environment), dir, { recursive: true });
  if (options.withoutPlan) rmSync(join(dir, "plan.json"));
  const port = options.port ? ["--port", String(options.port)] : [];
  const program = spawn(join(programs, "fitwright"), ["serve", dir, ...port, ...(options.more ?? [])], { env: environment });
  let said = "";
  const address = await new Promise((resolve, reject) => {
    program.stdout.on("data", (bytes) => {
      said += bytes;
      const found = /http:\/\/\S+/.exec(said);
      if (found) resolve(found[0]);
    });
    program.on("exit", (status) => reject(new Error(`serve ended with ${status}: ${said}`)));
  });
  const ended = new Promise((resolve) => program.on("exit", (status) => resolve(status)));
  // A test that failed leaves its program running: it neither keeps the tests from ending nor outlives them.
  for (const held of [program, program.stdout, program.stderr]) held.unref();
  process.once("exit", () => program.kill("SIGKILL"));
  return {
    address,
    dir,
    place,
    port: Number(new URL(address).port),
    pid: program.pid,
    said: () => said,
    stop: async (signal = "SIGTERM") => {
      program.ref();
      program.kill(signal);
      return ended;
    },
    clear: () => rmSync(place, { recursive: true, force: true }),
  };
}

// The example as a STEP file, made once.
export function stepFile() {
  const file = join(programs, "page-test/bushed-block.step");
  if (isOfThisProgram(file)) return file;
  mkdirSync(dirname(file), { recursive: true });
  const made = spawnSync(join(programs, "fitwright"), ["export", join(root, "examples/bushed-block"), "--out", file], { encoding: "utf8" });
  if (made.status !== 0) throw new Error(`no STEP file: ${made.stdout}${made.stderr}`);
  return file;
}

export function openBrowser() {
  if (!browserAt) throw new Error("no chromium: scripts/install.sh test brings it");
  return chromium.launch({
    executablePath: browserAt,
    // Solids are drawn by the processor.
    args: ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--disable-quic", "--no-first-run", "--disable-background-networking",
      "--disable-component-update", "--disable-sync"],
  });
}

// A page that remembers what went wrong in it.
export async function openPage(browser, address, options) {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const wrong = [];
  page.on("pageerror", (error) => wrong.push(String(error)));
  page.on("console", (message) => {
    // A drawing that a setup does not have is said on the page itself.
    if (message.type() === "error" && !message.location().url.includes("/api/drawing")) wrong.push(message.text());
  });
  await page.goto(address);
  return { page, context, wrong };
}

export async function goTo(page, name) {
  await page.evaluate((hash) => { location.hash = hash; }, `#/${name}`);
  await page.waitForSelector(`.page-${name.split("/")[0]} h1`);
  if (/^(parts|shop)/.test(name)) await page.waitForSelector(".page-parts table, .page-shop table");
}
